from __future__ import annotations

import html
import re
from datetime import UTC, datetime

import pytest
from starlette.testclient import TestClient

from dispatch.actions import day as actions
from tests.town import MONDAY, WEEK, Company

PUBLISHED_AT = datetime(2026, 11, 25, 18, tzinfo=UTC)


@pytest.fixture
def published(planned: Company, client: TestClient) -> TestClient:
    """The service of a company whose Monday is published."""
    with planned.writing() as session:
        actions.publish_day(session, planned.settings, MONDAY, who="Invented Desk", at=PUBLISHED_AT)
    return client


def options_of(page: str) -> list[dict[str, str]]:
    """The hidden fields of every option on the page."""
    forms = re.findall(r'<form method="post" action="/day/[^"]+/repair">(.*?)</form>', page, re.S)
    return [
        {
            name: html.unescape(value)
            for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', one)
        }
        for one in forms
    ]


def test_a_day_that_is_only_planned_offers_to_publish_it(client: TestClient) -> None:
    """A technician must not drive a plan that nobody let out."""
    page = client.get(f"/day/{MONDAY}")
    assert page.status_code == 200
    assert "Publish this day" in page.text

    after = client.post(f"/day/{MONDAY}/publish")

    assert "Last published by Invented Owner" in after.text


def test_a_whole_week_is_published_from_its_day(client: TestClient) -> None:
    """One press for all days; the plan has S3 on Monday and on another day."""
    shown = client.post(f"/week/{WEEK}/publish")

    days = client.get("/api/days").json()
    assert len(days) == 2
    assert str(shown.url).endswith(f"/day/{days[0]}")
    assert "Invented Three" in client.get(f"/day/{days[1]}").text


def test_every_stop_of_the_day_stands_in_the_table_with_its_state(published: TestClient) -> None:
    """The axis is a picture; whoever cannot see it reads the same in the tables."""
    page = published.get(f"/day/{MONDAY}").text
    for name in ("Invented One", "Invented Two", "Invented Three"):
        assert re.search(rf'<th scope="row">\d {name}</th>', page)
    assert page.count('class="block ') == 3


def test_a_repair_is_compared_and_taken_with_a_reason(published: TestClient) -> None:
    """The customer called off: the day says so, and the history says why."""
    asked = {"kind": "stop-cancelled", "visit_id": visit_of(published, "S1")}
    page = published.get(f"/day/{MONDAY}/repair", params=asked).text
    assert "the plan takes the place" not in published.get(f"/day/{MONDAY}").text
    found = options_of(page)
    assert found

    after = published.post(f"/day/{MONDAY}/repair", data={**found[0], "reason": "Owner is away"})

    assert after.status_code == 200
    assert "cancelled" in after.text
    assert "Owner is away" in published.get(f"/day/{MONDAY}/history").text
    assert "the plan takes the place of the repair" in after.text  # beside the button to publish


def test_the_second_dispatcher_is_shown_what_the_first_did(published: TestClient) -> None:
    """Both looked at the same day; the second keeps words and question, and overwrites nothing."""
    asked = {"kind": "stop-cancelled", "visit_id": visit_of(published, "S1")}
    page = published.get(f"/day/{MONDAY}/repair", params=asked).text
    first, second = options_of(page)[0], options_of(page)[-1]
    published.post(f"/day/{MONDAY}/repair", data={**first, "reason": "The first one"})

    answer = published.post(f"/day/{MONDAY}/repair", data={**second, "reason": "My own words"})

    assert answer.status_code == 409
    assert "The first one" in answer.text
    assert "My own words" in answer.text
    assert "repair?kind=stop-cancelled" in answer.text
    assert "My own words" not in published.get(f"/day/{MONDAY}/history").text


def test_a_closed_road_is_asked_for_and_told_in_the_readers_units(published: TestClient) -> None:
    """66 ft are 20.12 m and shown as 66 ft again (1 ft = 0.3048 m, NIST SP 811)."""
    published.post("/account/units", data={"units": "customary"})
    assert "Radius, ft" in published.get(f"/day/{MONDAY}").text
    asked = {"kind": "road-closed", "lat": "0", "lon": "0.002", "radius": "66"}
    found = options_of(published.get(f"/day/{MONDAY}/repair", params=asked).text)
    sent = found[0] | {"reason": "A burst pipe"}
    assert published.post(f"/day/{MONDAY}/repair", data=sent).status_code == 200
    page = published.get(f"/day/{MONDAY}").text
    assert "0.00200, 66 ft around" in page
    assert 'name="radius_m" value="20.1168"' in page


def test_an_earlier_state_shows_the_day_before_the_change(published: TestClient) -> None:
    """After the first two events, the publication, nothing was cancelled yet."""
    asked = {"kind": "stop-cancelled", "visit_id": visit_of(published, "S1")}
    found = options_of(published.get(f"/day/{MONDAY}/repair", params=asked).text)
    published.post(f"/day/{MONDAY}/repair", data={**found[0], "reason": "Owner is away"})

    page = published.get(f"/day/{MONDAY}?at=2").text

    assert "This is an earlier state" in page
    assert "Something happened" not in page
    assert "cancelled" not in page.split("data-live")[1].split("<dl")[1]


def test_an_alarm_is_seen_and_cleared_with_words(planned: Company, published: TestClient) -> None:
    """A cleared alarm without a reason would be a click by mistake."""
    at = planned.settings.now().isoformat()
    event = {"kind": "alarm", "technician_id": "T1", "at": at}
    published.post(f"/api/days/{MONDAY}/events", json=[event])
    assert "no sign of life of Invented Alma" in published.get(f"/day/{MONDAY}").text

    refused = published.post(f"/day/{MONDAY}/alarm/T1", data={"why": " "})
    assert refused.status_code == 422
    after = published.post(f"/day/{MONDAY}/alarm/T1", data={"why": "Called back"})

    assert "no sign of life of Invented Alma" not in after.text
    assert "Called back" in published.get(f"/day/{MONDAY}/history").text


def test_a_repair_that_lacks_a_field_says_which(published: TestClient) -> None:
    """A form sent half filled in is no reason for an error of ours."""
    answer = published.get(f"/day/{MONDAY}/repair", params={"kind": "technician-out"})
    assert answer.status_code == 422
    assert "technician_id" in answer.text


def visit_of(client: TestClient, site_id: str) -> str:
    """The visit of a site on Monday."""
    day = client.get(f"/api/days/{MONDAY}").json()
    return next(
        str(row["visit_id"])
        for one in day["technicians"]
        for row in one["stops"]
        if row["site_id"] == site_id
    )


def test_the_technicians_page_follows_a_repair_and_says_why(published: TestClient) -> None:
    """The plan still has S1; what was published has not, and page and list must say the same."""
    visit = visit_of(published, "S1")
    plan = published.get(f"/api/weeks/{WEEK}/plan").json()
    who = next(
        route["technician_id"]
        for route in plan["routes"]
        if visit in [stop["visit_id"] for stop in route["stops"]]
    )
    before = published.get(f"/day/{who}/{MONDAY}").text
    assert "Invented One" in before
    assert "Changed since it was published" not in before
    asked = {"kind": "stop-cancelled", "visit_id": visit}
    found = options_of(published.get(f"/day/{MONDAY}/repair", params=asked).text)
    published.post(f"/day/{MONDAY}/repair", data={**found[0], "reason": "Owner is away"})

    page = published.get(f"/day/{who}/{MONDAY}").text

    changed, _, stops = page.partition('<ol class="sheet">')
    assert "Invented One" not in stops
    assert "Owner is away" in changed
    assert "Invented One is not yours any more." in changed
    rows = published.get(f"/api/technicians/{who}/days/{MONDAY}/stops.csv").text
    assert "Invented One" not in rows
