"""The day over the API, as the dispatcher's page uses it."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from starlette.testclient import TestClient

DAY = "/api/days/2026-11-30"


@pytest.fixture
def published(client: TestClient) -> TestClient:
    assert client.post(f"{DAY}/publish").status_code == 200
    return client


def offer(client: TestClient, **happened: Any) -> dict[str, Any]:
    answer = client.post(f"{DAY}/repairs", json=happened)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_a_week_is_published_and_a_day_read(client: TestClient) -> None:
    """Days, a day with its counts, a technician's route, the history as CSV."""
    made = client.post("/api/weeks/2026-W49/publish").json()
    assert list(made) == client.get("/api/days").json() == ["2026-11-30", "2026-12-03"]
    day = client.get(DAY, params={"at": "2026-11-30T07:00:00Z"}).json()
    assert (day["version"], day["counts"]["planned"]) == (2, 3)
    assert day["technicians"][0]["stops"][0]["state"] == "planned"
    route = client.get(f"{DAY}/routes/T1").json()
    assert (route["revision"], len(route["works"])) == (1, 2)
    assert "gate_code" not in client.get(DAY).text
    rows = list(csv.DictReader(io.StringIO(client.get(f"{DAY}/history.csv").text)))
    assert [row["kind"] for row in rows] == ["published", "published"]
    stops = list(csv.DictReader(io.StringIO(client.get(f"{DAY}/stops.csv").text)))
    assert [row["state"] for row in stops] == ["planned"] * 3


def test_an_option_is_taken_once_and_the_second_is_told_why_not(published: TestClient) -> None:
    """409 with who changed what; the first choice stands."""
    visit = published.get(DAY).json()["technicians"][0]["stops"][0]["visit_id"]
    found = offer(published, kind="stop-cancelled", visit_id=visit)
    wish = {"expected_version": found["version"], "choice": found["options"][0]["choice"]}
    assert published.post(f"{DAY}/repairs/take", json=wish).status_code == 200
    again = published.post(f"{DAY}/repairs/take", json=wish)
    assert (again.status_code, again.json()["code"]) == (409, "day-moved")
    assert "repaired 2026-11-30" in again.json()["detail"]
    assert published.get(DAY).json()["others"][0]["state"] == "cancelled"
    earlier = published.get(f"{DAY}/history/2").json()
    assert earlier["others"] == []


def test_every_kind_of_upset_has_options(published: TestClient) -> None:
    """A way out of each, and words for what is missing where it is."""
    visit = published.get(DAY).json()["technicians"][0]["stops"][0]["visit_id"]
    upsets: list[dict[str, Any]] = [
        {"kind": "technician-out", "technician_id": "T1", "at_s": 0},
        {"kind": "late-start", "technician_id": "T1", "at_s": 36_000},
        {"kind": "urgent-stop", "site_id": "S1", "minutes": 20},
        {"kind": "stop-moved", "visit_id": visit},
        {"kind": "stop-moved", "visit_id": visit, "to_day": "2026-12-03"},
        {"kind": "job-overrun", "visit_id": visit, "minutes": 40},
        {"kind": "road-closed", "lat": 0, "lon": 0.002, "radius_m": 20},
        {"kind": "running-late"},
    ]
    for one in upsets:
        assert offer(published, **one)["options"], one
    lacking: list[tuple[dict[str, Any], str]] = [
        ({"kind": "technician-out", "technician_id": "T1"}, "say the time,"),
        ({"kind": "urgent-stop", "site_id": "S1"}, "say how many minutes,"),
        ({"kind": "road-closed", "lat": 1.0}, "say the longitude and the radius,"),
    ]
    for happened, missing in lacking:
        answer = published.post(f"{DAY}/repairs", json=happened)
        assert (answer.status_code, missing in answer.json()["detail"]) == (422, True)


def test_events_are_entered_and_pages_hear_of_them(published: TestClient) -> None:
    """The dispatcher notes what was told on the telephone."""
    visit = published.get(DAY).json()["technicians"][0]["stops"][0]["visit_id"]
    sent = [
        {"kind": "done", "technician_id": "T1", "visit_id": visit, "why": "told by telephone"},
        {"kind": "done", "technician_id": "T1", "visit_id": "S9/1"},
    ]
    answer = published.post(f"{DAY}/events", json=sent).json()
    assert [one["outcome"] for one in answer] == ["new", "refused"]
    assert published.get(f"{DAY}/history", params={"after": 2}).json()[0]["why"]
    with published.stream("GET", f"{DAY}/stream", params={"after": 2}) as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        lines = [line for _, line in zip(range(7), stream.iter_lines(), strict=False)]
    assert any('"number":3,"kind":"done"' in line.replace(" ", "") for line in lines)
