"""Records over the API, as a phone and an office send them."""

from __future__ import annotations

import json
from hashlib import sha256
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.records.samples import content, full_content, record_id
from tests.records.test_photos import JPEG

PHOTO = sha256(JPEG).hexdigest()
ANY = {"If-Match": "*"}  # whatever stands there; versions have tests of their own


def send(client: TestClient, sent: object) -> tuple[int, dict[str, Any]]:
    answer = client.post("/api/records", json=sent)
    return answer.status_code, answer.json()


def test_a_record_sent_again_is_answered_as_known(client: TestClient) -> None:
    """201, then 200: the phone may forget it after either."""
    assert send(client, full_content())[0] == 201
    status, body = send(client, full_content())
    assert (status, body["outcome"]) == (200, "known")
    assert len(client.get("/api/records").json()) == 1


def test_another_content_of_an_id_is_a_conflict_and_not_lost(client: TestClient) -> None:
    """409 with words; the office finds it set aside and may take it in as a correction."""
    send(client, content(note="first"))
    status, body = send(client, content(note="second"))
    assert (status, body["code"]) == (409, "record-conflict")
    assert "nothing is lost" in body["detail"]
    path = f"/api/records-aside/{body['aside']}"
    assert [one["content"]["note"] for one in client.get("/api/records-aside").json()] == ["second"]
    assert client.post(f"{path}/accept", json={"by": "Office"}).status_code == 200
    versions = client.get(f"/api/records/{record_id(1)}/versions").json()
    assert [one["record"]["note"] for one in versions] == ["first", "second"]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"readings": [{"kind": "ph", "value": -7}]}, "not possible"),
        ({"left_at": "2026-11-23T15:00:00Z"}, "before the arrival"),
        ({"day": "2027-01-01"}, "after today"),
        ({"readings": [{"kind": "water-temperature", "value": 84}]}, "84 °F is 28.9 °C"),
        ({"readings": [{"kind": "filter-pressure", "value": 124, "unit": "psi"}]}, "kPa"),
    ],
)
def test_bad_input_is_answered_in_words_and_kept(
    client: TestClient, fields: dict[str, Any], words: str
) -> None:
    """A clear answer, nothing lost."""
    status, body = send(client, content(**fields))
    assert status == 422
    assert words in body["detail"]
    (aside,) = client.get("/api/records-aside").json()
    assert aside["content"] == content(**fields)
    assert words in client.get("/api/records-aside.csv").text


@pytest.mark.parametrize(
    "text",
    [
        '{"id": "x", "note": NaN}',
        '{"id": "x", "note": "half a character \\ud800"}',
        "[1, Infinity]",
        '"only words"',
        '{"id": {"a": []}, "readings": [{"kind": "ph", "value": 1e999}]}',
        '{"id": "x", "readings": [{"kind": "ph", "value": ' + "9" * 400 + "}]}",
    ],
)
def test_whatever_is_json_is_answered_and_kept(client: TestClient, text: str) -> None:
    """A broken phone must not break the list in which somebody looks for its records."""
    answer = client.post("/api/records", content=text, headers={"content-type": "application/json"})
    assert answer.status_code == 422
    assert len(client.get("/api/records-aside").json()) == 1
    assert client.get("/records").status_code == 200


def test_half_a_character_does_not_lose_a_record(client: TestClient) -> None:
    """The record is good, only its note was cut in the middle of an emoji."""
    text = json.dumps(content(note="good \ud83d"))
    sent: dict[str, Any] = {"content": text, "headers": {"content-type": "application/json"}}
    assert client.post("/api/records", **sent).status_code == 201
    assert client.post("/api/records", **sent).status_code == 200
    assert client.get("/api/records").json()[0]["record"]["note"] == "good ?"


def test_what_is_possible_but_odd_is_kept_and_flagged(client: TestClient) -> None:
    """18 on a psi gauge, sent without a unit, is 18 kPa: kept, and somebody looks at it."""
    status, body = send(client, content(readings=[{"kind": "filter-pressure", "value": 18}]))
    assert status == 201
    assert "18 psi is 124 kPa" in body["flags"][0]
    (reading,) = client.get("/api/sites/S1/readings").json()
    assert "18 psi" in reading["odd"]


def test_a_batch_tells_what_became_of_each(client: TestClient) -> None:
    """An evening's records arrive together."""
    answer = client.post("/api/records/batch", json=[content(1), content(2, site_id="S9"), 7])
    assert [one["outcome"] for one in answer.json()] == ["kept", "set-aside", "set-aside"]


def test_a_correction_is_signed_and_kept(client: TestClient) -> None:
    """Who, when, why; without a reason it is refused."""
    send(client, content(note="wrong"))
    path = f"/api/records/{record_id(1)}"
    signed = {"fields": {"note": "right"}, "by": "Office", "reason": "typed at the wrong pool"}
    assert client.patch(path, json={**signed, "reason": ""}, headers=ANY).status_code == 422
    assert client.patch(path, json=signed, headers=ANY).json()["version"] == 2
    assert client.get(path).json()["record"]["note"] == "right"
    assert client.get(f"{path}/versions").json()[1]["reason"] == "typed at the wrong pool"
    assert client.get(f"/api/records/{record_id(9)}").status_code == 404


def test_the_table_goes_out_and_in_again(client: TestClient) -> None:
    """An export is an import: everything in it is known already."""
    send(client, full_content())
    table = client.get("/api/records.csv", params={"site": "S2"}).text
    answer = client.post("/api/records/import", files={"file": ("records.csv", table)})
    assert answer.json() == {"kept": 0, "known": 1, "aside": []}


def test_lines_go_out_whole(client: TestClient) -> None:
    """JSON lines hold everything, also what a table has no column for."""
    send(client, full_content())
    (line,) = client.get("/api/records.jsonl").text.splitlines()
    assert '"ran clear after two minutes"' in line


def test_a_bad_row_keeps_the_whole_table_out(client: TestClient) -> None:
    """Each fault with its line; nothing of the table is taken in."""
    table = (
        "site_id,technician_id,day,arrived,left,ph,water_temperature\n"
        "S1,T1,2026-11-23,09:00,09:30,7.4,84 °F\n"
        "S9,T1,2026-11-23,10:00,10:30,7.4,84 °F\n"
        "S2,T1,2026-11-23,11:00,10:30,7.4,84\n"
    )
    answer = client.post("/api/records/import", files={"file": ("records.csv", table)})
    assert answer.status_code == 422
    assert [one["line"] for one in answer.json()["problems"]] == [3, 4]
    assert client.get("/api/records").json() == []


def test_follow_ups_are_listed_and_settled(client: TestClient) -> None:
    """The cracked cover stands first, and is gone once somebody signs for it."""
    send(client, content(seen=["drain-cover-cracked"], parts_to_order=["Drain cover"]))
    first, second = client.get("/api/follow-ups").json()
    assert (first["kind"], first["urgent"], first["due_on"]) == ("close-pool", True, "2026-11-24")
    assert second["kind"] == "part"
    assert "cracked" in client.get("/api/follow-ups.csv").text
    signed = {"by": "Office", "outcome": "new cover on"}
    assert client.post(f"/api/follow-ups/{first['id']}/settle", json=signed).status_code == 200
    assert [one["kind"] for one in client.get("/api/follow-ups").json()] == ["part"]


def test_photos_are_kept_and_shown(client: TestClient) -> None:
    """The type is told by the bytes, whatever the name says."""
    sent = client.post("/api/photos", files={"file": ("x.exe", JPEG)})
    assert sent.status_code == 201
    shown = client.get(f"/api/photos/{sent.json()['id']}")
    assert (shown.content, shown.headers["content-type"]) == (JPEG, "image/jpeg")
    assert shown.headers["cache-control"] == "private, max-age=3600"
    assert shown.headers["x-content-type-options"] == "nosniff"
    refused = client.post("/api/photos", files={"file": ("x.jpg", b"<svg/>")})
    assert refused.status_code == 422


def test_a_photo_that_comes_after_its_record_is_not_missed_any_more(client: TestClient) -> None:
    """A phone sends the record first; the office must not ask for a photo that it has."""
    _, body = send(client, content(photos=[PHOTO]))
    assert body["flags"] == ["1 of 1 photos have not arrived yet."]
    path = f"/api/records/{record_id(1)}"
    assert client.get(path).json()["flags"] == body["flags"]
    client.post("/api/photos", files={"file": ("a.jpg", JPEG)})
    assert client.get(path).json()["flags"] == []
    assert client.get("/api/records").json()[0]["flags"] == []


def test_records_leave_and_come_back_with_the_names_of_their_photos(client: TestClient) -> None:
    """So that who reads the table knows which files belong to a visit."""
    send(client, content(photos=[PHOTO]))
    table = client.get("/api/records.csv").text
    assert PHOTO in table
    for text in (table, table.replace(PHOTO, "")):  # as earlier versions wrote it
        again = client.post("/api/records/import", files={"file": ("r.csv", text)})
        assert (again.json()["kept"], again.json()["known"]) == (0, 1)


def test_water_of_a_site_is_answered_with_cautions(client: TestClient) -> None:
    """S1 has 50,000 l; 1.0 ppm to the aim of 3.0 is 2 x 50 / 125 = 0.8 l of 125 g/L."""
    send(client, content(readings=[{"kind": "free-chlorine", "value": 1.0}]))
    found = client.get("/api/sites/S1/water").json()
    (finding,) = found["findings"]
    assert finding["answers"][0]["text"] == "800.0 ml"
    assert finding["target"]["from_memory"] is True
    assert any("acid" in words for words in finding["answers"][0]["cautions"])
    assert "800.0 ml" in client.get("/api/sites/S1/water.csv").text
    assert client.get("/api/sites/S9/water").status_code == 404


def test_a_company_edits_its_targets(client: TestClient) -> None:
    """Its own target is shown with who set it; the delivered one comes back."""
    own = {"least": 7.2, "ideal_low": 7.3, "ideal_high": 7.5, "most": 7.8, "by": "Office"}
    assert client.put("/api/water/targets/ph", json=own, headers=ANY).status_code == 200
    targets = {one["kind"]: one for one in client.get("/api/water/targets").json()}
    assert targets["ph"]["source"] == "own target, set by Office"
    wrong = {**own, "most": 7.0}
    assert client.put("/api/water/targets/ph", json=wrong, headers=ANY).status_code == 422
    client.delete("/api/water/targets/ph", headers=ANY)
    targets = {one["kind"]: one for one in client.get("/api/water/targets").json()}
    assert targets["ph"]["ideal_low"] == 7.4


def test_doses_and_index_are_computed_over_the_api(client: TestClient) -> None:
    """A pool of 37,854 l (10,000 gal) by 10 ppm is 756 ml of acid (D7); L3 is +0.2."""
    wanted = {"product": "acid", "volume_l": 37854.118, "change_ppm": 10}
    assert client.post("/api/water/dose", json=wanted).json()["text"] == "756.0 ml"
    water = {
        "ph": 7.6,
        "temperature_c": 28.889,
        "calcium_ppm": 300,
        "total_alkalinity_ppm": 75,
    }
    table, carrier = client.post("/api/water/index", json=water).json()
    assert (table["text"], table["method"][:11]) == ("+0.2", "trade table")
    assert carrier["method"].startswith("Carrier")
    assert client.post("/api/water/index", json={**water, "ph": 1}).status_code == 422


def test_minutes_are_listed_for_every_site(client: TestClient) -> None:
    """Agreed, planned, actual and learnt; one visit of 32 minutes moves S1 a little."""
    send(client, content())
    rows = {one["site_id"]: one for one in client.get("/api/learnt/minutes").json()}
    assert set(rows) == {"S1", "S2", "S3"}
    assert (rows["S1"]["agreed_min"], rows["S1"]["actual_min"]) == (30, 32)
    assert 30 < rows["S1"]["learnt_min"] < 33
    assert "learnt_min" in client.get("/api/learnt/minutes.csv").text
    (visit,) = client.get("/api/learnt/visits", params={"site": "S1"}).json()
    assert visit["actual_min"] == 32
    assert client.get("/api/learnt/visits.csv").text.count("\r\n") == 2
    assert client.get("/api/learnt/paces").json()["stays"] == 1


def test_drives_say_that_there_is_too_little_data(client: TestClient) -> None:
    """One gap from S1 to S2 teaches nothing, and the answer says so."""
    send(client, content(1))
    at = {"arrived_at": "2026-11-23T16:40:00Z", "left_at": "2026-11-23T17:00:00Z"}
    send(client, content(2, site_id="S2", **at))
    found = client.get("/api/learnt/drives").json()
    assert (found["gaps"], found["enough"]) == (1, False)
    assert all("too little data" in one["words"] for one in found["factors"])
    assert "too little data" in client.get("/api/learnt/drives.csv").text


def test_a_load_is_listed_with_what_it_weighs(client: TestClient) -> None:
    """S1 took 2 l of chlorine; its next visit loads it with a fifth to spare."""
    added = [{"product": "liquid-chlorine", "amount": 2, "unit": "l"}]
    send(client, content(products=added))
    loads = [
        client.get(f"/api/technicians/T1/days/2026-{day}/load").json()
        for day in ("11-30", "12-03", "12-04")
    ]
    lines = [line for load in loads for line in load["products"]]
    assert lines
    assert {line["product"] for line in lines} == {"liquid-chlorine"}
    assert all(load["violations"] == [] for load in loads)
    assert "packages" in client.get("/api/technicians/T1/days/2026-11-30/load.csv").text
