from __future__ import annotations

from starlette.testclient import TestClient

from tests.town import MONDAY, TECHNICIANS_CSV, WEDNESDAY, WEEK

S1 = "S1/2026-W49/1"
MOVE = {"deed": "move", "visit_id": S1, "technician_id": "T2", "day": str(WEDNESDAY)}
BASE = f"/api/weeks/{WEEK}"


def test_an_edit_is_answered_with_its_version_and_undone(client: TestClient) -> None:
    """Desk, edit, undo: each says where the plan stands."""
    assert client.get(f"{BASE}/desk").json()["version"] == 1
    done = client.post(f"{BASE}/edits", json={"version": 1, "edits": [MOVE]})
    assert done.status_code == 200, done.text
    assert done.json()["version"] == 2
    assert done.json()["difference"]["moved"][0]["words"] == "other day and technician"
    desk = client.post(f"{BASE}/undo", json={"version": 2}).json()
    assert (desk["version"], desk["redo"]) == (3, "Invented One to Invented Ben, Wed 2")
    assert "Invented Owner" in client.get(f"{BASE}/versions.csv").text


def test_an_edit_of_an_older_version_is_answered_with_412(client: TestClient) -> None:
    """RFC 9110, section 15.5.13: the state is not the one that was expected."""
    client.post(f"{BASE}/edits", json={"version": 1, "edits": [MOVE]})
    late = client.post(f"{BASE}/edits", json={"version": 1, "edits": [MOVE]})
    assert late.status_code == 412
    assert "Invented Owner: Invented One to Invented Ben" in late.json()["detail"]


def test_a_broken_rule_is_data(client: TestClient) -> None:
    """With its rule, place and words."""
    wish = {**MOVE, "visit_id": "S2/2026-W49/1", "day": str(MONDAY)}
    done = client.post(f"{BASE}/edits", json={"version": 1, "edits": [wish], "save": False})
    (broken,) = done.json()["broken"]
    assert (broken["rule"], broken["technician_id"], broken["detail"]) == ("skill", "T2", "media")
    assert client.get(f"{BASE}/desk").json()["version"] == 1


def test_locks_are_added_listed_and_taken_away(client: TestClient) -> None:
    """The list is the answer to each."""
    day = {"kind": "day", "visit_id": None, "technician_id": None, "day": str(MONDAY)}
    assert client.post(f"{BASE}/locks", json=day).json() == [day]
    assert client.get(f"{BASE}/locks").json() == [day]
    assert f"day,,,{MONDAY}" in client.get(f"{BASE}/locks.csv").text
    assert client.post(f"{BASE}/locks/remove", json=day).json() == []
    assert client.post(f"{BASE}/locks", json={"kind": "route"}).status_code == 422


def test_a_day_off_after_publishing_is_shown_and_planned_around(client: TestClient) -> None:
    """Alma's Monday is published when she calls in: the page says so until a proposal is taken."""
    assert client.post(f"/api/days/{MONDAY}/publish").status_code == 200
    people = TECHNICIANS_CSV.replace("2026-12-01", f"{MONDAY};2026-12-01")
    answer = client.post("/api/technicians/import", files={"file": ("t.csv", people)})
    assert answer.status_code == 200, answer.text
    said = "off on Mon 30 but has 2 stops. Plan the week again, then publish the day again."
    assert said in client.get(f"/week/{WEEK}").text
    assert said in client.get(f"/week/{WEEK}/check").text
    assert "off,Invented Alma," in client.get(f"{BASE}/findings.csv").text
    job = client.post(f"{BASE}/proposal", json={"iterations": 100}).json()
    client.get(f"/api/jobs/{job['id']}/events")  # ends with the job
    assert client.get(f"{BASE}/proposal").json()["difference"]["shifted"] >= 2
    assert client.post(f"{BASE}/proposal/take", json={"version": 1}).status_code == 200
    assert "off on Mon 30 but 2 stops are published" in client.get(f"/week/{WEEK}").text


def test_a_proposal_is_made_compared_and_taken(client: TestClient) -> None:
    """Beside the plan until somebody says yes."""
    client.post(f"{BASE}/edits", json={"version": 1, "edits": [MOVE]})
    job = client.post(f"{BASE}/proposal", json={"iterations": 100}).json()
    client.get(f"/api/jobs/{job['id']}/events")  # ends with the job
    found = client.get(f"{BASE}/proposal").json()
    assert (found["base"], found["is_current"]) == (2, True)
    assert client.get(f"{BASE}/compare").json() == found["difference"]
    assert "S1/2026-W49/1" in client.get(f"{BASE}/compare.csv?before=1&after=2").text
    assert client.get(f"{BASE}/compare?before=mine").status_code == 422
    assert client.post(f"{BASE}/proposal/take", json={"version": 2}).json()["version"] == 3
    assert client.get(f"{BASE}/proposal").status_code == 404
    assert client.delete(f"{BASE}/proposal").status_code == 204


def test_the_check_list_answers_every_point(client: TestClient) -> None:
    """A planned week is good; one with a broken skill says where."""
    points = {one["name"]: one for one in client.get(f"{BASE}/check-list").json()}
    assert {one["state"] for one in points.values()} == {"good"}
    assert "Sand change at Invented Two" in points["upkeep"]["lines"][0]
    wish = {**MOVE, "visit_id": "S2/2026-W49/1", "day": str(MONDAY)}
    client.post(f"{BASE}/edits", json={"version": 1, "edits": [wish]})
    after = client.get(f"{BASE}/check-list.csv").text
    assert "agreed,wrong" in after
    assert "lacks the skill 'media'" in after


def test_planning_again_without_a_change_asks_for_nothing(client: TestClient) -> None:
    """To take a proposal that says nothing new would be a decision about nothing."""
    job = client.post(f"{BASE}/proposal", json={"iterations": 100}).json()
    client.get(f"/api/jobs/{job['id']}/events")  # ends with the job
    page = client.get(f"/week/{WEEK}").text
    assert "Nothing changes" in page
    assert "Take the proposal" not in page
    assert 'action="/week/2026-W49/proposal/drop"' in page
