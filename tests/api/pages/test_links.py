from __future__ import annotations

import re
from datetime import UTC, datetime
from html import unescape

import pytest
from starlette.testclient import TestClient

from api.headers import CONTENT_SECURITY_POLICY
from dispatch.actions import day as actions
from tests.signed_in import ALMA, signed_in_client
from tests.town import MONDAY, Company

S1 = "S1/2026-W49/1"


@pytest.fixture
def published(planned: Company, client: TestClient) -> TestClient:
    """The service of a company whose Monday is published."""
    at = datetime(2026, 11, 25, 18, tzinfo=UTC)
    with planned.writing() as session:
        actions.publish_day(session, planned.settings, MONDAY, who="Invented Desk", at=at)
    return client


def test_a_link_made_on_the_board_opens_for_a_customer_alone(published: TestClient) -> None:
    """S1 begins seconds after 07:00; its code #11 and the names of all people stay inside."""
    assert f'name="visit_id" value="{S1}"' in published.get(f"/day/{MONDAY}").text
    made = published.post(f"/day/{MONDAY}/visit-link", data={"visit_id": S1}).text
    (path,) = re.findall(r'href="(/visit/[^"]+)"', made)
    published.cookies.clear()

    answer = published.get(unescape(path))

    assert answer.status_code == 200
    assert "between <strong>06:30</strong> and <strong>07:35</strong>" in answer.text
    for secret in ("#11", "Left gate", "Invented", "S1", "S2", "T1", "nav"):
        assert secret not in answer.text
    assert answer.headers["content-security-policy"] == CONTENT_SECURITY_POLICY
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers["x-robots-tag"].startswith("noindex")


def test_every_wrong_link_gets_the_same_page_and_is_counted(published: TestClient) -> None:
    """A cut token, and one of a calendar, which is sealed with the same key; 20 wrong ones end."""
    made = published.post(f"/api/days/{MONDAY}/visit-links", json={"visit_id": S1})
    assert made.status_code == 201
    calendar = published.post("/api/technicians/T1/calendar-address").json()["address"]
    other = calendar.removeprefix("/calendar/").removesuffix(".ics")
    published.cookies.clear()

    cut = published.get(made.json()["address"][:-3])
    foreign = published.get(f"/visit/{other}")

    assert (cut.status_code, foreign.status_code) == (404, 404)
    assert cut.text == foreign.text
    assert cut.headers["x-robots-tag"].startswith("noindex")
    answers = [published.get(f"/visit/wrong{n}").status_code for n in range(19)]
    assert answers == [404] * 18 + [429]


def test_a_technician_makes_no_links(planned: Company) -> None:
    """What customers are told is the office's to give."""
    with signed_in_client(planned.settings, ALMA, raises=False) as client:
        asked = client.post(f"/day/{MONDAY}/visit-link", data={"visit_id": S1})
    assert asked.status_code == 403


def test_a_technician_gives_the_own_calendar_an_address_and_ends_it(planned: Company) -> None:
    """Made, made anew, ended: only the newest address leads anywhere, and only to the own stops."""
    page = "/technicians/T1/calendar"
    with signed_in_client(planned.settings, ALMA, raises=False) as client:
        assert "There is no address now" in client.get(page).text
        addresses = [_address_on(client.post(page).text) for _ in range(2)]
        addresses.append(_address_on(client.get(page).text))  # sealed anew, and as good
        assert [client.get(one).status_code for one in addresses] == [404, 200, 200]
        assert "There is no address now" in client.post(f"{page}/end").text
        assert client.get(addresses[1]).status_code == 404
        assert client.get("/technicians/T2/calendar").status_code == 403
        assert client.post("/technicians/T2/calendar").status_code == 403


def _address_on(page: str) -> str:
    (address,) = re.findall(r'readonly value="([^"]+)" id="address"', page)
    return unescape(address)


def test_an_unknown_technician_has_no_calendar_page(client: TestClient) -> None:
    """A slip in the address must not look like a calendar without stops."""
    assert client.get("/technicians/T9/calendar").status_code == 404
