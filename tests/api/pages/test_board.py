from __future__ import annotations

import html
import re
from datetime import UTC, datetime

import pytest
from starlette.testclient import TestClient

from dispatch.actions import day as actions
from dispatch.actions.holds import add_hold
from dispatch.sites import Hold
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


def test_who_is_out_is_given_no_stop_again_in_silence(published: TestClient) -> None:
    """Alma is ill and her stops were given to others; the plan still has them with her."""
    asked = {"kind": "technician-out", "technician_id": "T1", "time": "07:00"}
    options = options_of(published.get(f"/day/{MONDAY}/repair", params=asked).text)
    option = next(one for one in options if one["title"] != "To another day")
    published.post(f"/day/{MONDAY}/repair", data={**option, "reason": "Ill"})
    assert "all the same: repair the day" not in published.get(f"/day/{MONDAY}").text

    page = published.post(f"/day/{MONDAY}/publish").text

    assert "Not published yet" in page
    assert "Invented Alma is out on Mon 30 from 07:00 on" in page
    assert "would be given 2 stops again" in page
    published.post(f"/day/{MONDAY}/publish", data={"anyway": "yes"})
    board = published.get(f"/day/{MONDAY}").text
    assert "is out from 07:00 on and has 2 stops all the same: repair the day" in board


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
    assert "&#39;A technician is out&#39; lacks something" in answer.text
    assert "say which technician and the time" in answer.text
    asked = {"kind": "job-overrun", "visit_id": visit_of(published, "S1"), "minutes": "900"}
    answer = published.get(f"/day/{MONDAY}/repair", params=asked)
    assert answer.status_code == 422
    assert "The minutes must be a whole number from 1 to 720" in answer.text


def test_a_repair_is_told_with_the_names_of_people_and_customers(published: TestClient) -> None:
    """Nobody in an office knows who T2 is, or what S1/2026-W49/1 is; the history says the same."""
    visit = visit_of(published, "S1")
    for asked, words in (
        ({"kind": "technician-out", "technician_id": "T2", "time": "07:00"}, "Invented Ben is out"),
        (
            {"kind": "job-overrun", "visit_id": visit, "minutes": "30"},
            "The stop at Invented One takes 30 min longer",
        ),
        (
            {"kind": "urgent-stop", "site_id": "S3", "minutes": "20"},
            "Urgent stop at Invented Three",
        ),
    ):
        page = published.get(f"/day/{MONDAY}/repair", params=asked).text
        assert f"<h1>{words}</h1>" in page
        assert options_of(page)[0]["choice"].count(words) == 1


def test_broken_rules_are_told_in_sentences(published: TestClient) -> None:
    """Alma sets out at 14:30 and has 75 min of service in an hour of shift."""
    asked = {"kind": "late-start", "technician_id": "T1", "time": "14:30"}
    page = published.get(f"/day/{MONDAY}/repair", params=asked).text
    assert re.search(r"Invented Alma ends \d+ min beyond the shift \(Mon 30\)\.", page)
    assert "overfull" not in page


def test_a_closed_area_off_the_map_is_refused(published: TestClient) -> None:
    """A slip of the pen would else be taken, and nobody be led round anything."""
    asked = {"kind": "road-closed", "lat": "40", "lon": "10", "radius_m": "200"}
    answer = published.get(f"/day/{MONDAY}/repair", params=asked)
    assert answer.status_code == 422
    assert "Latitude 40.0, longitude 10.0 lies off the street map" in answer.text
    between = asked | {"lat": "-0.00045", "lon": "0.0018", "radius_m": "20"}
    answer = published.get(f"/day/{MONDAY}/repair", params=between)
    assert answer.status_code == 422
    assert "No street lies within 20 m" in answer.text


def test_a_day_under_way_is_not_offered_to_be_published(published: TestClient) -> None:
    """The press would be refused; the page says what to do instead."""
    assert "Publish this day" in published.get(f"/day/{MONDAY}").text
    begun = {"kind": "started", "technician_id": "T1", "visit_id": visit_of(published, "S1")}
    at = datetime(2026, 11, 25, 15, tzinfo=UTC).isoformat()
    published.post(f"/api/days/{MONDAY}/events", json=[begun | {"at": at}])
    page = published.get(f"/day/{MONDAY}").text
    assert "Publish this day" not in page
    assert "This day is under way" in page
    assert "Publish the whole week" in page


def test_a_visit_is_moved_only_to_a_day_on_which_somebody_comes(published: TestClient) -> None:
    """The form bounds the date; what is sent all the same is refused with what to do."""
    assert 'type="date" min="2026-11-25" max="2026-12-14"' in published.get(f"/day/{MONDAY}").text
    asked = {"kind": "stop-moved", "visit_id": visit_of(published, "S1"), "to_day": "2020-01-01"}
    answer = published.get(f"/day/{MONDAY}/repair", params=asked)
    assert answer.status_code == 422
    assert "2020-01-01 is over, so nobody would come" in answer.text


def test_a_moved_visit_is_listed_on_its_new_day_and_in_what_is_due(published: TestClient) -> None:
    """Until that day is published nothing else shows that it comes."""
    tuesday = "2026-12-08"
    asked = {"kind": "stop-moved", "visit_id": visit_of(published, "S1"), "to_day": tuesday}
    page = published.get(f"/day/{MONDAY}/repair", params=asked).text
    assert "to Tue 8 Dec, comes into a route when that day is published" in page
    published.post(f"/day/{MONDAY}/repair", data={**options_of(page)[0], "reason": "Owner asked"})
    for path in (f"/day/{tuesday}", "/due/2026-W50"):
        shown = published.get(path).text
        assert "Moved here from another day" in shown
        assert re.search(r"<strong>Invented One</strong>: *from Mon 30 Nov to Tue 8 Dec", shown)
    assert "Moved here" not in published.get("/due/2026-W49").text


def test_a_stop_in_a_hold_is_marked_on_the_board_and_the_sheet(
    planned: Company, published: TestClient
) -> None:
    """The hold was entered after the day was published; it is told in words, not by colour."""
    with planned.writing() as session:
        add_hold(session, Hold("S1", MONDAY, MONDAY, "pool is painted"))
    page = published.get(f"/day/{MONDAY}").text
    assert "Invented One: in a hold from 2026-11-30 to 2026-11-30 (pool is painted)" in page
    assert page.count("<strong>in a hold</strong>") == 1
    sheet = published.get(f"/day/T1/{MONDAY}").text
    assert "The customer has a hold</strong> from Mon 30 Nov to Mon 30 Nov" in sheet


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


def test_an_urgent_stop_is_told_with_the_time_it_gets(published: TestClient) -> None:
    """'No place to 07:43' reads as if there were none."""
    asked = {"kind": "urgent-stop", "site_id": "S3", "minutes": "20"}
    page = published.get(f"/day/{MONDAY}/repair", params=asked).text

    assert re.search(r"<li>Invented Three: in no route yet, then \d\d:\d\d", page)
    assert "no place to" not in page
