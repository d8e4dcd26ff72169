from __future__ import annotations

from starlette.testclient import TestClient

from tests.api.hostile import broken_by_description

PATHS = frozenset({"/api/records/batch", "/api/phone/entries", "/api/holds", "/api/one-offs"})


def test_no_call_made_from_the_description_breaks_the_service(client: TestClient) -> None:
    """Data that fits and data that does not; all routes are tried by a bench of the same name."""
    assert broken_by_description(client, 3, only=PATHS) == []


def test_a_body_that_is_no_json_is_told_in_words(client: TestClient) -> None:
    """It met the check of rights before anybody had read it."""
    headers = {"Content-Type": "application/json"}
    answer = client.post("/api/records/batch", content=b"{", headers=headers)
    assert answer.status_code == 422
