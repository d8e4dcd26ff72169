"""One-off work, holds, findings and deletions by the API."""

from __future__ import annotations

from datetime import date

from starlette.testclient import TestClient

from tests.town import TODAY, WEEK

ANY = {"If-Match": "*"}  # whatever stands there; versions have tests of their own

JOB = {"site_id": "S2", "title": "Mend the gate", "minutes": [45]}


def test_work_is_added_read_visited_and_deleted(client: TestClient) -> None:
    """What is left out follows from the kind and today: a job has four weeks, from tomorrow."""
    made = client.post("/api/one-offs", json=JOB)
    assert made.status_code == 201
    work = made.json()
    assert (work["id"], work["kind"], work["crew"]) == ("J1", "one-off", 1)
    assert (work["first_day"], work["last_day"]) == ("2026-11-26", "2026-12-23")
    assert client.get("/api/one-offs/J1").json() == work
    visited = client.post("/api/one-offs/J1/visited", json={}, headers=ANY).json()
    assert (visited["visited_on"], visited["done_on"]) == ([str(TODAY)], str(TODAY))
    assert client.delete("/api/one-offs/J1", headers=ANY).status_code == 204
    assert client.get("/api/one-offs/J1").status_code == 404


def test_a_burst_is_consecutive_and_its_visits_are_due(client: TestClient) -> None:
    """The week's list shows it beside the regular visits, and the export can be taken in again."""
    burst = JOB | {
        "kind": "green-pool",
        "minutes": [60, 20],
        "first_day": "2026-11-30",
        "last_day": "2026-12-02",
    }
    assert client.post("/api/one-offs", json=burst).json()["consecutive"]
    due = client.get(f"/api/weeks/{WEEK}/visits-due").json()
    (owed,) = [one for one in due["due"] if one["demand_id"] == "one-off:J1"]
    assert owed["service_min"] == [60, 20]
    assert owed["patterns"] == [["2026-11-30", "2026-12-01"], ["2026-12-01", "2026-12-02"]]
    table = client.get("/api/one-offs.csv").content
    again = client.post("/api/one-offs/import", files={"file": ("work.csv", table)})
    assert again.json()["imported"] == 1


def test_work_that_cannot_be_is_refused_with_a_sentence(client: TestClient) -> None:
    """The caller reads what to mend."""
    for wish, status, words in (
        (JOB | {"minutes": [0]}, 422, "not believable"),
        (JOB | {"kind": "regular"}, 422, "comes by the rhythm"),
        (JOB | {"site_id": "S9"}, 404, "no site 'S9'"),
    ):
        answer = client.post("/api/one-offs", json=wish)
        assert answer.status_code == status
        assert words in answer.json()["detail"]


def test_a_hold_is_added_ended_and_deleted(client: TestClient) -> None:
    """One at a time, as the telephone rings."""
    wish = {"site_id": "S2", "first_day": "2026-12-01", "last_day": "2026-12-09"}
    assert client.post("/api/holds", json=wish).status_code == 201
    ended = client.post(
        "/api/holds/S2/2026-12-01/end", json={"last_day": "2026-12-03"}, headers=ANY
    )
    assert ended.json()["last_day"] == "2026-12-03"
    assert client.delete("/api/holds/S2/2026-12-01", headers=ANY).status_code == 204
    assert client.delete("/api/holds/S2/2026-12-01", headers=ANY).status_code == 404


def test_what_a_plan_needs_is_not_deleted(client: TestClient) -> None:
    """409: something else must happen first, and the detail says what."""
    for address in ("/api/sites/S1", "/api/technicians/T1"):
        answer = client.delete(address, headers=ANY)
        assert answer.status_code == 409
        assert answer.json()["code"] == "in-use"
    assert client.delete("/api/sites/S9", headers=ANY).status_code == 404


def test_findings_name_cause_thing_value_and_mend(client: TestClient) -> None:
    """A job for three persons, where each truck has one."""
    assert client.get(f"/api/weeks/{WEEK}/findings").json() == []
    client.post("/api/one-offs", json=JOB | {"crew": 3, "first_day": str(date(2026, 11, 30))})
    (finding,) = client.get(f"/api/weeks/{WEEK}/findings").json()
    assert finding["cause"] == "crew"
    assert finding["thing"] == "Invented Two (Mend the gate)"
    assert finding["sentence"].startswith("Invented Two (Mend the gate): it needs 3 persons")
    assert "crew,Invented Two" in client.get(f"/api/weeks/{WEEK}/findings.csv").text
