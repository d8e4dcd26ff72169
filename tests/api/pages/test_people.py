from __future__ import annotations

import re

from starlette.testclient import TestClient

from tests.pseudo import CODE, pseudo_language

ANY = {"If-Match": "*"}
PASSWORD = "four words of nothing"  # noqa: S105 - invented


def test_somebody_is_added_by_form_and_comes_in_by_the_link_shown(client: TestClient) -> None:
    """The whole way of a new colleague, without a command and without an e-mail server."""
    form = {"person_id": "ben", "name": "<b>Ben</b>", "role": "dispatcher", "technician_id": ""}
    page = client.post("/people", data=form).text
    assert "&lt;b&gt;Ben&lt;/b&gt;" in page
    assert "<b>Ben</b>" not in page
    link = re.search(r"/welcome/[\w-]+", page)
    assert link is not None

    client.post("/sign-out")
    assert "set a password" in client.get(link[0]).text.lower()
    client.post(link[0], data={"password": PASSWORD, "again": PASSWORD})

    assert client.get("/api/me").json()["id"] == "ben"
    assert client.get("/people").status_code == 403
    assert client.get("/account").status_code == 200


def test_a_form_that_cannot_be_is_shown_again_as_it_was_typed(client: TestClient) -> None:
    """A technician needs a technician of the book; the name must not have to be typed again."""
    form = {"person_id": "alma", "name": "Invented Alma", "role": "technician"}
    answer = client.post("/people", data=form)
    assert answer.status_code == 422
    assert "say which technician of the book" in answer.text
    assert 'value="Invented Alma"' in answer.text


def test_nobody_new_is_opened_to_whoever_signed_in_as_a_deleted_technician(
    client: TestClient,
) -> None:
    """An id is given again; who had it would read gate codes and calendar of the new one."""
    table = "id,name,start_lat,start_lon,mon\nT9,{name},0,0.001,08:00-16:00\n"

    def take_in(name: str) -> None:
        files = {"file": ("t.csv", table.format(name=name))}
        assert client.post("/api/technicians/import", files=files).status_code == 200

    take_in("Invented Zed")
    form = {"person_id": "zed", "name": "Zed", "role": "technician", "technician_id": "T9"}
    assert client.post("/people", data=form).status_code == 200
    calendar = client.post("/api/technicians/T9/calendar-address").json()["address"]

    refused = client.delete("/api/technicians/T9", headers={"If-Match": "*"})
    assert refused.status_code == 409
    assert "Zed ('zed') signs in as this technician" in refused.json()["detail"]
    assert client.post("/technicians/delete", data={"id": "T9"}).status_code == 409

    client.post("/people/zed/remove", headers=ANY)
    assert client.delete("/api/technicians/T9", headers={"If-Match": "*"}).status_code == 204
    take_in("Invented Other")
    assert client.get(calendar).status_code == 404


def test_the_calendar_on_a_phone_ends_with_who_lost_it_or_left(client: TestClient) -> None:
    """It shows names and addresses of customers of every day to come, to whoever has the phone."""
    form = {"person_id": "alma", "name": "Alma", "role": "technician", "technician_id": "T1"}
    for deed in ("sign-out", "remove"):
        client.post("/people", data=form)
        address = client.post("/api/technicians/T1/calendar-address").json()["address"]
        assert client.get(address).status_code == 200
        assert client.post(f"/people/alma/{deed}", headers=ANY).status_code == 200
        assert client.get(address).status_code == 404

    client.post("/people", data=form)
    address = client.post("/api/technicians/T1/calendar-address").json()["address"]
    other = {"id": "alma", "name": "Alma", "role": "technician", "technician_id": "T2"}
    same = client.put("/api/people/alma", json=other | {"technician_id": "T1"}, headers=ANY)
    assert same.status_code == 200
    assert client.get(address).status_code == 200
    assert client.put("/api/people/alma", json=other, headers=ANY).status_code == 200
    assert client.get(address).status_code == 404

    address = client.post("/api/technicians/T2/calendar-address").json()["address"]
    assert client.delete("/api/people/alma", headers=ANY).status_code == 204
    assert client.get(address).status_code == 404


def test_a_token_is_made_shown_once_and_taken_back(client: TestClient) -> None:
    """The page is where an owner finds what programs may reach the company."""
    form = {"name": "invented", "person_id": "owner", "scopes": ["read", "plan"], "days": "30"}
    page = client.post("/tokens", data=form).text
    secret = re.search(r"shown only now: <code>([\w-]+)</code>", page)
    assert secret is not None
    again = client.get("/people").text
    assert secret[1] not in again
    assert "plan, read" in again
    token = re.search(r"/tokens/(\w+)/remove", again)
    assert token is not None
    asked = again[again.rindex("<details", 0, token.start()) : token.start()]
    assert "<summary>Take back" in asked
    assert "</details>" not in asked  # the button stands within: two presses
    assert client.post(token[0]).status_code == 200
    assert client.get("/api/tokens").json() == []


def test_the_audit_log_is_a_page_and_a_file(client: TestClient) -> None:
    """Who did what must be readable by an owner who knows no commands."""
    client.post("/people", data={"person_id": "ben", "name": "Ben", "role": "owner"})
    client.post("/people/ben/sign-out")
    client.post("/people/ben/remove", headers=ANY)
    assert "POST /people/{person_id}/remove" in client.get("/audit").text
    lines = client.get("/api/audit.csv").text.splitlines()
    assert [line.split(",")[5] for line in lines[1:4]] == [
        "POST /people/{person_id}/remove",
        "POST /people/{person_id}/sign-out",
        "POST /people",
    ]


def test_pages_speak_the_units_that_their_reader_chose(client: TestClient) -> None:
    """Driving in kilometres until somebody asks for miles, and for that person alone."""
    assert re.search(r"\d km", client.get("/week/2026-W49").text)
    assert client.post("/account/units", data={"units": "customary"}).status_code == 200
    page = client.get("/week/2026-W49").text
    assert re.search(r"\d mi\b(?!n)", page)
    assert not re.search(r"\d km", page)
    assert client.post("/account/units", data={"units": "cubits"}).status_code == 422


def test_pages_speak_the_language_that_their_reader_chose(client: TestClient) -> None:
    """Whatever the browser asks for, and until that person takes it back."""
    english = {"Accept-Language": "en"}
    with pseudo_language():
        assert client.post("/account/language", data={"language": CODE}).status_code == 200
        assert f'<html lang="{CODE}">' in client.get("/account", headers=english).text
        assert client.post("/account/language", data={"language": "qq"}).status_code == 422
        assert client.post("/account/language", data={"language": ""}).status_code == 200
        assert '<html lang="en">' in client.get("/account", headers=english).text
        client.post("/account/language", data={"language": CODE})
    assert '<html lang="en">' in client.get("/account").text  # the catalogue was taken away
