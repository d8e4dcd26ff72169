from __future__ import annotations

from starlette.testclient import TestClient

from tests.town import WEEK


def test_a_week_without_a_plan_leads_on_to_planning_it(reader: TestClient) -> None:
    """'Hours of the week' in the header and the arrow to the next week lead to such a week."""
    answer = reader.get(f"/loads/{WEEK.next}")

    assert answer.status_code == 200
    assert "2026-W50 has not been planned yet" in answer.text
    assert f'<a href="/week/{WEEK.next}">' in answer.text
    assert f'href="/loads/{WEEK}"' in answer.text  # the way back
