"""Calls about upkeep: the table, the weeks, the forecasts."""

from __future__ import annotations

from starlette.testclient import TestClient

from tests.town import WEEK

ANY = {"If-Match": "*"}  # whatever stands there; versions have tests of their own


def test_upkeep_due_says_why_in_words_and_as_data(reader: TestClient) -> None:
    """A caller can show the sentence or reckon with the figures."""
    (due,) = reader.get(f"/api/weeks/{WEEK}/upkeep-due").json()
    assert due["reason"] == "last done 1 Jun 2021, due after 5 years"
    assert (due["by"], due["figures"][0]["value"], due["urgent"]) == ("calendar", 60, False)


def test_a_kind_is_changed_and_taken_back(client: TestClient) -> None:
    """PUT what differs; DELETE takes it back."""
    answer = client.put(
        "/api/upkeep/kinds/backwash", json={"fields": {"threshold": "8 psi"}}, headers=ANY
    )
    assert answer.json()["fields"]["threshold"] == "55.2"
    assert answer.json()["changed"] is True
    kinds = {one["kind"]: one for one in client.get("/api/upkeep/kinds").json()}
    assert kinds["backwash"]["fields"]["threshold"] == "55.2"
    assert (
        client.delete("/api/upkeep/kinds/backwash", headers=ANY).json()["fields"]["threshold"]
        == "68.9"
    )
    assert client.get("/api/upkeep/kinds.csv").text.startswith("kind,title,active")


def test_bad_changes_are_answered_with_the_mend(client: TestClient) -> None:
    """422 for a value, 404 for a kind, and nothing is kept."""
    bad = client.put(
        "/api/upkeep/kinds/backwash", json={"fields": {"minutes": "soon"}}, headers=ANY
    )
    assert (bad.status_code, bad.json()["code"]) == (422, "invalid-value")
    assert "The field minutes of 'backwash'" in bad.json()["detail"]
    unknown = client.put("/api/upkeep/kinds/polish", json={"fields": {}}, headers=ANY)
    assert unknown.status_code == 404
    odd = client.put("/api/upkeep/kinds/backwash", json={"minutes": 5}, headers=ANY)
    assert odd.status_code == 422


def test_upkeep_is_spread_by_a_job(client: TestClient) -> None:
    """Started, watched to its end, and read in each form."""
    assert client.get("/api/upkeep/levelling").status_code == 404
    started = client.post("/api/upkeep/levelling", json={"weeks": 26})
    assert started.status_code == 202
    job = started.json()["id"]
    client.get(f"/api/jobs/{job}/events")  # ends with the job
    assert client.get(f"/api/jobs/{job}").json()["state"] == "done"
    made = client.get("/api/upkeep/levelling").json()
    assert made["weeks"] == 26
    assert made["bound"] <= made["cost"] + 1e-6
    assert [one["kind"] for one in made["slots"]] == ["sand-change"]
    assert "Sand change" in client.get("/api/upkeep/levelling.csv").text
    assert client.get("/api/upkeep/year.csv").text.count("\n") == 2 * 26 + 1
    assert client.post("/api/upkeep/levelling", json={"weeks": 99}).status_code == 422


def test_upkeep_that_found_no_week_can_be_taken_away(client: TestClient) -> None:
    """What will be late is the list to work through; here nobody has the skill for it."""
    rule = {"fields": {"skill": "diving"}}
    assert client.put("/api/upkeep/kinds/sand-change", json=rule, headers=ANY).status_code == 200
    job = client.post("/api/upkeep/levelling", json={"weeks": 26}).json()["id"]
    client.get(f"/api/jobs/{job}/events")  # ends with the job
    page = client.get("/year").text

    assert "1 upkeep found no week" in page
    assert 'href="/api/upkeep/left-out.csv"' in page
    head, line = client.get("/api/upkeep/left-out.csv").text.splitlines()
    assert head == "reason"
    assert line.startswith('"Sand change at site S2: nobody who may go there has the skill')
    assert "Table of 52 lines" in page  # of two technicians in 26 weeks


def test_forecasts_are_told_with_their_interval(reader: TestClient) -> None:
    """One part has a known age."""
    (one,) = reader.get("/api/upkeep/forecasts").json()
    assert one["low_on"] <= one["due_on"] <= one["high_on"]
    assert "80 %" in reader.get("/api/upkeep/forecasts.csv").text
