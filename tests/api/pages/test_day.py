from __future__ import annotations

import re

from starlette.testclient import TestClient

from tests.town import WEEK


def days_of(client: TestClient, site: str) -> list[str]:
    """Addresses of the day pages on which a site is visited."""
    plan = client.get(f"/api/weeks/{WEEK}/plan").json()
    return [
        f"/day/{route['technician_id']}/{route['day']}"
        for route in plan["routes"]
        if any(stop["site_id"] == site for stop in route["stops"])
    ]


def test_the_gate_is_told_before_the_technician_leaves_the_truck(reader: TestClient) -> None:
    """S1 has a gate on the left with a code, S2 a loose dog, as the table of sites says."""
    page = reader.get(days_of(reader, "S1")[0]).text
    assert "Left gate" in page
    assert "Show" in page  # the code itself is shown to the technician, on the day
    assert "#11" not in page

    assert "loose" in reader.get(days_of(reader, "S2")[0]).text


def test_the_address_opens_in_the_phones_own_map(reader: TestClient) -> None:
    """RFC 5870: latitude first, unlike GeoJSON; S1 lies at 0 north, 0.001 east."""
    page = reader.get(days_of(reader, "S1")[0]).text

    assert 'href="geo:0.000000,0.001000"' in page


def test_stops_are_in_driving_order_with_their_times(reader: TestClient) -> None:
    """The page is read from top to bottom."""
    for address in {*days_of(reader, "S1"), *days_of(reader, "S3")}:
        times = re.findall(r'<p class="when"><b>(\d\d:\d\d)</b>', reader.get(address).text)
        assert times
        assert times == sorted(times)


def test_what_to_load_stands_above_the_first_stop(reader: TestClient) -> None:
    """S2 holds 136 kg of sand that has its time: 6 bags of 22.7 kg, together 136.2 kg."""
    page = reader.get(days_of(reader, "S2")[0]).text

    load = page[page.index("Load this morning") : page.index('<ol class="sheet">')]
    assert re.search(r"<span>6 . Filter sand", load)
    assert "<b>136 kg</b>" in load


def test_the_caution_stands_beside_the_step_it_is_for(reader: TestClient) -> None:
    """Wet sand hurts backs; the words come with the kind of upkeep."""
    page = reader.get(days_of(reader, "S2")[0]).text

    work = page[page.index('<li class="extra">') :]
    assert re.search(
        r"<b>Sand change</b>.*?<b>Caution\.</b>[^<]*wet sand is heavy", work, re.DOTALL
    )


def test_a_free_day_says_why_it_is_free(reader: TestClient) -> None:
    """T1 has 1 December off, as the table of technicians says."""
    assert "off" in reader.get("/day/T1/2026-12-01").text


def test_the_usual_cautions_are_on_every_sheet(reader: TestClient) -> None:
    """They stand beside the work, not in a manual."""
    page = reader.get("/day/T1/2026-12-01").text

    assert "Add acid to water, never water to acid." in page.replace("\n", " ")


def test_a_day_whose_week_is_not_planned_yet_is_no_dead_end(reader: TestClient) -> None:
    """One press on 'day after' on a Sunday leads there, and a technician has no shell to plan in.

    Week 50 is not planned; T1 has no shift on its Wednesday, 9 December.
    """
    monday, wednesday = WEEK.next.days[0], WEEK.next.days[2]

    for address in (f"/day/T2/{monday}", f"/load/T2/{monday}"):
        answer = reader.get(address)
        assert answer.status_code == 200
        assert "Week 2026-W50 has not been planned yet." in answer.text
    assert f'href="/day/T2/{WEEK.sunday}"' in reader.get(f"/day/T2/{monday}").text
    assert "Invented Alma has no shift on a Wednesday." in reader.get(f"/day/T1/{wednesday}").text
    assert reader.get(f"/day/T9/{monday}").status_code == 404
