from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace

import pytest
from starlette.testclient import TestClient

from dispatch.actions.day_publish import publish_day
from tests.mail_server import MailServer, mail_server
from tests.signed_in import ALMA, signed_in_client
from tests.town import MONDAY, Company

ANY = {"If-Match": "*"}
PATH = f"/api/days/{MONDAY}/notices"
WISHES = {"email": "one@example.org", "notices": ["day-before", "done"]}


@pytest.fixture
def server() -> Iterator[MailServer]:
    """The company's mail server."""
    with mail_server() as found:
        yield found


@pytest.fixture
def told(planned: Company, server: MailServer) -> Iterator[TestClient]:
    """The service of a company that sends mail; its Monday is published, S1 wishes everything."""
    company = replace(planned, settings=server.told(planned.settings))
    with company.writing() as session:
        publish_day(session, company.settings, MONDAY, who="Ada", at=company.settings.now())
    with signed_in_client(company.settings, raises=False) as client:
        assert client.put("/api/sites/S1/notices", json=WISHES, headers=ANY).status_code == 200
        yield client


def test_customers_are_told_once_after_the_list_was_shown(
    told: TestClient, server: MailServer
) -> None:
    """The answer does not wait for the mail server; asking twice sends once."""
    before = told.get(PATH).json()
    assert [(one["site_id"], one["window_s"]) for one in before["due"]] == [
        ("S1", [23_400, 27_300])
    ]
    assert before["kept"] == []

    assert [one["kind"] for one in told.post(PATH).json()] == ["day-before"]
    assert told.post(PATH).json() == []

    assert server.recipients == ["one@example.org"]
    after = told.get(PATH).json()
    assert (after["due"], [one["state"] for one in after["kept"]]) == ([], ["sent"])
    assert "S1,Invented One,S1/2026-W49/1,day-before" in told.get(f"{PATH}.csv").text


def test_what_failed_is_shown_and_tried_again(told: TestClient, server: MailServer) -> None:
    """The dispatcher sees on the day that somebody was not told, and why."""
    server.answers["one@example.org"] = "550 no such user <one@example.org>"
    told.post(f"/day/{MONDAY}/notices")
    board, page = told.get(f"/day/{MONDAY}").text, told.get(f"/day/{MONDAY}/notices").text
    assert "1 customer could not be told." in board
    assert "550 no such user" in page
    server.answers.clear()
    told.post(f"/day/{MONDAY}/notices/again")
    assert server.recipients == ["one@example.org"]
    assert "could not be told" not in told.get(f"/day/{MONDAY}").text


def test_an_address_stands_with_its_site_alone(
    told: TestClient, server: MailServer, planned: Company
) -> None:
    """There is none in lists of messages, calendars, tracks, day sheets, phones and logs."""
    told.post(PATH)
    own = f"/api/technicians/T1/days/{MONDAY}"
    for path in (
        PATH, f"{PATH}.csv", f"/day/{MONDAY}/notices", f"/day/{MONDAY}", "/api/sites.geojson",
        own, f"{own}/stops.csv", f"{own}/route.gpx", "/api/technicians/T1/calendar.ics",
        f"/api/phone/days/T1/{MONDAY}", f"/api/days/{MONDAY}", f"/day/T1/{MONDAY}", "/api/audit",
    ):  # fmt: skip
        answer = told.get(path)
        assert answer.status_code == 200, path
        assert "one@example.org" not in answer.text, path
    log = planned.settings.log_file.read_text(encoding="utf-8")
    lines = [json.loads(line) for line in log.splitlines()]
    (line,) = [one for one in lines if one["event"] == "notice"]
    assert (line["site"], line["state"]) == ("S1", "sent")
    assert "one@example.org" not in log


def test_the_form_of_a_site_writes_the_contact_and_keeps_it_whole(client: TestClient) -> None:
    """With the version it showed; a wish without an address, or none that is one, is refused."""
    page = client.get("/sites/S1").text
    version = page.partition('name="version" value="')[2].partition('"')[0]
    form = {"version": version, "email": "two@bücher.example", "notices": ["done"]}
    assert client.post("/sites/S1/notices", data=form, follow_redirects=False).status_code == 303
    site = client.get("/api/sites/S1").json()
    assert (site["email"], site["notices"]) == ("two@xn--bcher-kva.example", ["done"])
    assert client.post("/sites/S1/notices", data=form).status_code == 412  # it is another by now
    for wrong in (
        {"email": "", "notices": ["done"]},
        {"email": "a@b.example\nBcc: c@d.example", "notices": []},
    ):
        answer = client.put("/api/sites/S1/notices", json=wrong, headers=ANY)
        assert (answer.status_code, answer.json()["code"]) == (422, "invalid-value")
    assert client.put("/api/sites/S9/notices", json=WISHES, headers=ANY).status_code == 404

    # without a mail server nobody is told, and the answer names what to set
    answer = client.post(PATH)
    assert answer.status_code == 422
    missing = "DISPATCH_MAIL_SERVER, DISPATCH_MAIL_SENDER, DISPATCH_PUBLIC_URL"
    assert missing in answer.json()["detail"]


def test_a_contact_goes_out_and_comes_in_as_a_table(client: TestClient) -> None:
    """A table without the two columns leaves what is there; an empty cell ends it."""
    assert client.put("/api/sites/S1/notices", json=WISHES, headers=ANY).status_code == 200
    text = client.get("/api/sites.csv").text
    assert "one@example.org,day-before;done" in text
    row = "id,name,lat,lon,rhythm,service_min"
    send = {"file": ("sites.csv", f"{row}\nS1,Other,0,0.001,weekly,30\n")}
    assert client.post("/api/sites/import", files=send).status_code == 200
    assert client.get("/api/sites/S1").json()["email"] == "one@example.org"
    send = {"file": ("s.csv", f"{row},email\nS1,Other,0,0.001,weekly,30,\n")}
    assert client.post("/api/sites/import", files=send).status_code == 200
    site = client.get("/api/sites/S1").json()
    assert (site["email"], site["notices"]) == ("", [])
    for cells, column in (("x,", "email"), (",done", "notices"), ("a@b.example,daily", "notices")):
        send = {"file": ("s.csv", f"{row},email,notices\nS1,Other,0,0.001,weekly,30,{cells}\n")}
        answer = client.post("/api/sites/import", files=send)
        assert [one["column"] for one in answer.json()["problems"]] == [column]


def test_a_technician_sees_the_wish_and_cannot_change_it(planned: Company) -> None:
    """Of a site of his own; the form is for the office."""
    with signed_in_client(planned.settings, ALMA, raises=False) as alma:
        assert "/sites/S1/notices" not in alma.get("/sites/S1").text
        assert alma.post("/sites/S1/notices", data={"email": ""}).status_code == 403
