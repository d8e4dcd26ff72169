from __future__ import annotations

from starlette.testclient import TestClient

from tests.api.jobs.waiting import wait_for
from tests.signed_in import DISPATCHER, signed_in_client
from tests.town import MONDAY, WEEK, Company


def test_the_owner_decides_on_a_study_and_takes_it_back(client: TestClient) -> None:
    """From the reckoning to the dated change, as a browser does it too."""
    job = client.post("/api/standing/studies/design", json={}).json()
    ended = wait_for(client, job["id"], "done", "failed")
    assert (ended["state"], ended["detail"], ended["name"]) == ("done", "", "design")

    found = client.get("/api/standing/studies/design").json()
    assert {move["site_id"] for move in found["moves"]} == {"S1", "S2", "S3"}
    assert found["homeless"] == []
    assert "S3" in client.get("/api/standing/studies/design/moves.csv").text

    decide, from_on = "/api/standing/studies/design/decide", MONDAY.isoformat()
    answer = client.post(decide, json={"from_on": from_on})
    assert answer.status_code == 201
    made = answer.json()
    assert [one["site_id"] for one in made] == ["S1", "S2", "S3"]
    assert {one["who"] for one in made} == {"Invented Owner"}
    again = client.post(decide, json={"from_on": from_on})
    assert again.status_code == 422
    assert "have changed since" in again.json()["detail"]
    assert "Take back" in client.get("/standing").text

    answer = client.post(f"/api/standing/changes/{made[0]['batch']}/withdraw")
    assert answer.json() == {"count": 3}
    states = [one["state"] for one in client.get("/api/standing/changes").json()]
    assert states == ["withdrawn"] * 3
    assert client.get("/api/standing/changes.csv").text.count("withdrawn") == 3


def test_a_design_is_decided_on_as_a_whole_or_not_at_all(client: TestClient) -> None:
    """Its routes work once everybody has moved; a slice of it would be an arbitrary one."""
    job = client.post("/api/standing/studies/design", json={}).json()
    assert wait_for(client, job["id"], "done", "failed")["state"] == "done"

    found = client.get("/api/standing/studies/design").json()
    assert {(move["drive_s"], move["spread_s"]) for move in found["moves"]} == {(None, None)}
    table = client.get("/api/standing/studies/design/moves.csv").text
    assert table.startswith("site_id,site,from,to\r\n")
    page = client.get("/standing/study/design").text
    assert "Decide on the whole design: 3 customers" in page
    assert "in the order of their gain" not in page
    assert 'name="count"' not in page
    assert 'href="/standing/study/improve"' in page

    slice_of_it = {"count": 2, "from_on": MONDAY.isoformat()}
    answer = client.post("/api/standing/studies/design/decide", json=slice_of_it)
    assert answer.status_code == 422
    assert "only makes sense as a whole" in answer.json()["detail"]
    assert client.get("/api/standing/changes").json() == []
    decided = client.post(
        "/standing/study/design/decide",
        data={"from_on": MONDAY.isoformat()},
        follow_redirects=False,
    )
    assert decided.status_code == 303
    assert len(client.get("/api/standing/changes").json()) == 3


def test_one_customer_is_changed_by_hand(client: TestClient) -> None:
    """Not every decision comes from a study."""
    wish = {
        "site_id": "S1",
        "technician_id": "T2",
        "weekdays": ["Wed"],
        "from_on": MONDAY.isoformat(),
        "why": "The customer asked for it.",
    }
    assert client.post("/api/standing/changes", json=wish).status_code == 201
    bad = client.post("/api/standing/changes", json=wish | {"technician_id": "T9"})

    assert bad.status_code == 422
    days = client.get("/api/standing").json()
    assert {one["technician_id"] for one in days} == {"T1", "T2"}  # not before its date
    assert client.get("/api/standing.csv").text.count("\r\n") == 4  # a heading and three sites


def test_there_is_no_study_before_one_was_made(reader: TestClient) -> None:
    """And none of a name that nobody knows."""
    assert reader.get("/api/standing/studies/improve").status_code == 404
    assert reader.get("/api/standing/studies/nonsense").status_code == 422
    assert "Nothing is changed by it" in reader.get("/standing/study/improve").text


def test_the_balance_of_a_week_is_reckoned_in_the_background(client: TestClient) -> None:
    """The job, its figures, its files, its page, and a week planned with one of its bands."""
    assert client.get(f"/api/weeks/{WEEK}/balance").status_code == 404
    job = client.post(f"/api/weeks/{WEEK}/balance").json()
    assert wait_for(client, job["id"], "done", "failed")["state"] == "done"

    curve = client.get(f"/api/weeks/{WEEK}/balance").json()
    assert [one["band_min"] for one in curve["points"]] == [None, 240, 120, 60, 30, 15]
    assert client.get(f"/api/weeks/{WEEK}/balance.csv").text.count("\r\n") == 7
    assert client.get(f"/api/weeks/{WEEK}/balance-hours.csv").text.count("\r\n") == 13
    assert 'role="img"' in client.get(f"/balance/{WEEK}").text
    planned = client.post(f"/api/weeks/{WEEK}/plan", json={"even_min": 15, "iterations": 50})
    assert planned.json()["even_min"] == 15
    assert wait_for(client, planned.json()["id"], "done", "failed")["state"] == "done"


def test_a_supposition_is_compared_and_its_pages_show_it(client: TestClient) -> None:
    """The owner's way through forms; a bad one is refused before it waits in the queue."""
    bad = client.post("/api/what-if", json={"kind": "bought"})
    assert (bad.status_code, bad.json()["code"]) == (422, "invalid-value")
    sent = client.post(
        "/what-if",
        data={"kind": "bought", "near_site": "S1", "count": "2", "radius": "0.1"},
        follow_redirects=False,
    )
    job = sent.headers["location"].partition("job=")[2]
    assert wait_for(client, job, "done", "failed")["detail"] == ""

    found = client.get("/api/what-if").json()
    assert found["then"]["customers"] + found["then"]["off_street"] == 5
    assert client.get("/api/what-if.csv").text.startswith("figure,today,what_if")
    assert "2 pools more within 100 m" in client.get("/what-if").text
    assert client.get("/api/hiring").status_code == 404


def test_the_loads_over_the_weeks_are_shown_and_taken_away(reader: TestClient) -> None:
    """Hours, costs and accounts as JSON, as files and as a page."""
    (week,) = reader.get(f"/api/loads/{WEEK}").json()
    assert week["week"] == str(WEEK)
    assert reader.get(f"/api/loads/{WEEK}/weeks.csv").text.count("\r\n") == 2
    assert reader.get(f"/api/loads/{WEEK}/technicians.csv").text.count("\r\n") == 3
    assert len(reader.get(f"/api/loads/{WEEK}/accounts").json()) == 3
    assert reader.get(f"/api/loads/{WEEK}/accounts.csv").text.count("\r\n") == 4
    page = reader.get(f"/loads/weeks/{WEEK}").text
    assert "No customer has a monthly price yet" in page
    assert "local law" in page


def test_a_dispatcher_sees_the_hours_over_the_weeks_without_the_money(planned: Company) -> None:
    """Hours, spread and overtime are the dispatcher's work; costs and hiring are the owner's."""
    with signed_in_client(planned.settings, DISPATCHER) as desk:
        page = desk.get(f"/loads/weeks/{WEEK}")
        assert page.status_code == 200
        assert "Overtime coming" in page.text
        assert "A stop costs" not in page.text
        assert "monthly price" not in page.text
        assert "/weeks.csv" not in page.text
        assert desk.get(f"/api/loads/{WEEK}/technicians.csv").status_code == 200
        assert desk.get(f"/api/loads/{WEEK}/weeks.csv").status_code == 403
        assert desk.get("/what-if").status_code == 403
