from __future__ import annotations

import html
import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
from sqlalchemy import text
from starlette.testclient import TestClient

from api.callers import COOKIE
from api.throttle import Throttle
from dispatch.actions import people, sign_in
from dispatch.actions.book import import_sites
from dispatch.errors import NotSignedIn
from dispatch.people import Person
from dispatch.store import people as store
from tests.signed_in import ALMA, DISPATCHER, OWNER, session_of, signed_in_client
from tests.town import Company, open_company

PASSWORD = "four words of nothing"  # noqa: S105 - invented
OTHER = "five other words of it"
NEW_HOLD = {"site_id": "S1", "first_day": "2027-01-04", "last_day": "2027-01-05"}


@pytest.fixture
def door(planned: Company) -> Iterator[TestClient]:
    """The service with nobody signed in, and an owner who has a password."""
    with signed_in_client(planned.settings, None, raises=False) as client:
        link = invite(planned, OWNER)
        client.post(link, data={"password": PASSWORD, "again": PASSWORD})
        client.cookies.clear()
        yield client


def invite(company: Company, person: Person) -> str:
    """Path of a new link by which the person, added where missing, sets a password."""
    with company.writing() as session:
        store.write_person(session, person, company.settings.now())
        return f"/welcome/{people.invite(session, person.id, company.settings.now())}"


def enter(client: TestClient, password: str = PASSWORD, **more: str):  # type: ignore[no-untyped-def]
    data = {"person_id": "owner", "password": password, **more}
    return client.post("/sign-in", data=data, follow_redirects=False)


def test_a_person_signs_in_and_out(door: TestClient) -> None:
    """The whole way: led to the form, in, back to the page asked for, out again."""
    led = door.get("/sites", follow_redirects=False)
    assert led.headers["location"] == "/sign-in?next=/sites"
    answer = enter(door, next="/sites")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sites")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert "secure" not in cookie  # the settings name no address with TLS
    assert door.get("/sites").status_code == 200
    secret = door.cookies[COOKIE]
    door.post("/sign-out")
    door.cookies.set(COOKIE, secret)
    assert door.get("/api/sites").status_code == 401


def test_signing_in_leads_to_all_of_the_address_asked_for(door: TestClient) -> None:
    """The ways to repair a day are asked for in the address: without it there is only an error."""
    asked = "/day/2026-11-30/repair?kind=technician-out&technician_id=T1&time=10:30"
    led = door.get(asked, follow_redirects=False).headers["location"]
    page = door.get(led).text

    (kept,) = re.findall(r'name="next" value="([^"]*)"', page)
    assert html.unescape(kept) == asked
    assert enter(door, next=asked).headers["location"] == asked


def test_whoever_is_signed_out_while_writing_loses_nothing(door: TestClient) -> None:
    """A record was typed, and the session ended meanwhile: sign in beside it, send it again."""
    answer = door.post("/holds", data=NEW_HOLD, headers={"Referer": "https://x.example/sites/S1"})

    assert answer.status_code == 401
    assert '<a href="/sign-in" target="_blank">' in answer.text
    assert '<a href="/sites/S1" data-back>' in answer.text
    assert "/static/nav.js" in answer.text  # the script by which that is the form with its words


def test_behind_tls_the_cookie_travels_over_tls_only(planned: Company) -> None:
    """One page over plain HTTP would otherwise give the session away."""
    link = invite(planned, OWNER)
    behind = planned.settings.model_copy(update={"public_url": "https://pools.example"})
    with signed_in_client(behind, None) as client:
        answer = client.post(
            link, data={"password": PASSWORD, "again": PASSWORD}, follow_redirects=False
        )
    assert "; secure" in answer.headers["set-cookie"].lower()


@pytest.mark.parametrize("next_page", ["//evil.example", "https://evil.example", "/\\evil.example"])
def test_signing_in_never_leads_elsewhere(door: TestClient, next_page: str) -> None:
    """A link to our own form must not end on somebody else's page."""
    assert enter(door, next=next_page).headers["location"] == "/"


def test_a_wrong_password_and_an_unknown_name_are_told_alike(door: TestClient) -> None:
    """Whoever tries names must not learn which exist."""
    wrong = enter(door, "not this one")
    unknown = enter(door, person_id="nobody")
    assert wrong.status_code == unknown.status_code == 401
    assert "do not belong together" in wrong.text
    assert unknown.text.replace("nobody", "owner") == wrong.text
    assert COOKIE not in door.cookies


def test_guessing_is_slowed_down_in_plain_words(door: TestClient) -> None:
    """Eight attempts of one account from one address; then even the right password waits."""
    for _ in range(8):
        assert enter(door, "not this one").status_code == 401
    answer = enter(door)
    assert answer.status_code == 429
    assert "Wait 15 min and try again" in answer.text
    assert 14 * 60 < int(answer.headers["retry-after"]) <= 15 * 60  # RFC 6585, section 4


def test_a_restart_forgives_no_guess(planned: Company, door: TestClient) -> None:
    """Nor does a second process; and nobody's name stands in the table in the open."""
    throttle = Throttle(planned.engine)
    for _ in range(8):
        throttle.count("owner", "testclient")
    assert enter(door).status_code == 429
    throttle.count("owner", "another address")
    with planned.reading() as session:
        rows = session.execute(text("SELECT account, address FROM failed_sign_in")).all()
    assert len(rows) == 9
    assert not {"owner", "testclient"} & {one for row in rows for one in row}
    throttle.forgive("owner", "testclient")
    assert enter(door).status_code == 303


def test_an_account_cannot_be_locked_by_its_owner_typing_well(door: TestClient) -> None:
    """Signing in forgives; a person who types wrongly each morning is no attacker."""
    for _ in range(4):
        for _ in range(3):
            enter(door, "not this one")
        assert enter(door).status_code == 303


def test_a_session_brought_along_is_not_taken_over(door: TestClient) -> None:
    """Session fixation: an attacker's cookie must not become the victim's session."""
    door.cookies.set(COOKIE, "chosen-by-an-attacker")
    enter(door)
    issued = [c.value for c in door.cookies.jar if c.value != "chosen-by-an-attacker"]
    assert len(issued) == 1
    door.cookies.clear()
    door.cookies.set(COOKIE, "chosen-by-an-attacker")
    assert door.get("/api/sites").status_code == 401


def test_signing_in_anew_ends_the_session_before(door: TestClient) -> None:
    """A browser holds one session; the one before must not live on unseen."""
    enter(door)
    before = door.cookies[COOKIE]
    enter(door)
    door.cookies.clear()
    door.cookies.set(COOKIE, before)
    assert door.get("/api/sites").status_code == 401


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {},
    ],
    ids=str,
)
def test_only_our_own_pages_may_write_with_a_cookie(
    planned: Company, headers: dict[str, str]
) -> None:
    """Cross-site request forgery; a call that says nothing of where it comes from is refused."""
    with signed_in_client(planned.settings) as client:
        del client.headers["Sec-Fetch-Site"]
        answer = client.post("/api/holds", json=NEW_HOLD, headers=headers)
        assert (answer.status_code, answer.json()["code"]) == (403, "cross-site")
        good = client.post("/api/holds", json=NEW_HOLD, headers={"Origin": "http://testserver"})
        assert good.status_code == 201


def test_a_new_password_signs_out_everywhere_else(planned: Company, door: TestClient) -> None:
    """It is changed because somebody else may know it, who must be out at once."""
    elsewhere = session_of(planned.engine, planned.settings)
    enter(door)
    assert is_signed_in(planned, elsewhere)
    data = {"old": PASSWORD, "password": OTHER, "again": OTHER}
    assert door.post("/account/password", data=data).status_code == 200
    assert door.get("/account").status_code == 200
    assert not is_signed_in(planned, elsewhere)
    assert enter(door).status_code == 401
    assert enter(door, OTHER).status_code == 303


def test_signing_out_everywhere_ends_every_session(planned: Company, door: TestClient) -> None:
    """A lost phone is still signed in until somebody says otherwise."""
    elsewhere = session_of(planned.engine, planned.settings)
    enter(door)
    door.post("/account/sign-out-everywhere")
    assert not is_signed_in(planned, elsewhere)


def is_signed_in(company: Company, secret: str) -> bool:
    """Whether a browser with that secret is let in."""
    try:
        sign_in.caller_of_cookie(company.engine, secret, company.settings.now())
    except NotSignedIn:
        return False
    return True


def test_a_link_sets_a_password_once(planned: Company) -> None:
    """A link read a second time, from a mailbox or a history, must open nothing."""
    link = invite(planned, ALMA)
    with signed_in_client(planned.settings, None) as client:
        short = client.post(link, data={"password": "short", "again": "short"})
        assert (short.status_code, "12 to 200" in short.text) == (422, True)
        data = {"password": PASSWORD, "again": PASSWORD}
        assert client.post(link, data=data).url.path == "/phone/T1"
        client.cookies.clear()
        assert client.get(link).status_code == 410
        assert client.post(link, data=data).status_code == 410


def test_a_new_company_gets_its_first_owner_by_link_and_no_second_one(bare: Company) -> None:
    """No default password exists; the link on the console is the only way in, and works once."""
    with bare.writing() as session:
        link = f"/welcome/{people.invite_first_owner(session, bare.settings.now())}"
    data = {"person_id": "Anna", "name": "Anna", "password": PASSWORD, "again": PASSWORD}
    with signed_in_client(bare.settings, None) as client:
        assert client.get("/api/people").status_code == 401
        client.post(link, data=data)
        assert client.get("/api/people").json() == [
            {"id": "anna", "name": "Anna", "role": "owner", "technician_id": None}
        ]
        assert client.post(link, data=data).status_code == 410


@pytest.fixture
def bare(tmp_path) -> Iterator[Company]:  # type: ignore[no-untyped-def]
    """A company that has nothing, people neither."""
    company = open_company(tmp_path / "bare")
    yield company
    company.engine.dispose()


def test_the_only_owner_stays(client: TestClient) -> None:
    """A company without an owner could never add anybody again."""
    seen = {"If-Match": client.get("/api/people").headers["etag"]}
    assert client.delete("/api/people/owner", headers=seen).status_code == 409
    worse = {"id": "owner", "name": "Invented Owner", "role": "dispatcher"}
    assert client.put("/api/people/owner", json=worse, headers=seen).status_code == 409


def test_a_token_does_what_its_scopes_say_within_its_persons_rights(client: TestClient) -> None:
    """A program that reads loads must not be able to plan, and no token sees people."""
    token = make_token(client, "owner", ["read"])
    assert client.get("/api/sites", headers=token).status_code == 200
    assert client.get("/api/me", headers=token).json()["id"] == "owner"
    for method, path in (
        ("POST", "/api/weeks/2026-W49/plan"),
        ("POST", "/api/holds"),
        ("GET", "/api/people"),
        ("GET", "/sites"),
    ):
        answer = client.request(method, path, headers=token, json={})
        assert answer.status_code in {403, 422}, path
        assert answer.status_code == 403 or "token" not in answer.text
    book = make_token(client, "owner", ["book"])
    assert client.post("/api/holds", json=NEW_HOLD, headers=book).status_code == 201
    assert client.get("/api/sites", headers=book).status_code == 403


def test_a_token_taken_back_or_over_works_no_more(planned: Company, client: TestClient) -> None:
    """Taking one back must not wait for anything."""
    token = make_token(client, "owner", ["read"])
    made = client.get("/api/tokens").json()[0]
    assert client.delete(f"/api/tokens/{made['id']}").status_code == 204
    assert client.get("/api/sites", headers=token).status_code == 401
    day_long = make_token(client, "owner", ["read"])["Authorization"].removeprefix("Bearer ")
    now = planned.settings.now()
    sign_in.caller_of_token(planned.engine, day_long, now + timedelta(hours=23))
    with pytest.raises(NotSignedIn, match="or is over"):
        sign_in.caller_of_token(planned.engine, day_long, now + timedelta(hours=24))


def make_token(client: TestClient, person: str, scopes: list[str]) -> dict[str, str]:
    """The header of a new token that lasts a day."""
    wish = {"name": "invented", "person_id": person, "scopes": scopes, "days": 1}
    secret = client.post("/api/tokens", json=wish).json()["secret"]
    return {"Authorization": f"Bearer {secret}"}


def test_secrets_are_kept_as_digests_only(planned: Company, client: TestClient) -> None:
    """Whoever reads the database must not be able to sign in with what stands there."""
    token = make_token(client, "owner", ["read"])["Authorization"].removeprefix("Bearer ")
    cookie = client.cookies[COOKIE]
    files = sorted(planned.settings.data_dir.glob("dispatch.sqlite*"))
    content = b"".join(file.read_bytes() for file in files)
    assert token.encode() not in content
    assert cookie.encode() not in content


def test_every_change_is_noted_with_who_what_and_when(client: TestClient) -> None:
    """In the transaction of the change itself, and never with what was typed."""
    client.post("/api/holds", json={**NEW_HOLD, "reason": "a private reason"})
    client.post("/api/holds", json={**NEW_HOLD, "site_id": "nowhere"})  # refused
    client.post("/api/weeks/2026-W51/plan", json={"seed": 1, "iterations": 1})
    lines = client.get("/api/audit").json()
    assert [(one["person_id"], one["via"], one["deed"], one["target"]) for one in lines[:2]] == [
        ("owner", "page", "POST /api/weeks/{week}/plan", "week 2026-W51"),
        ("owner", "page", "POST /api/holds", "site_id S1, first_day 2027-01-04"),
    ]
    assert "private" not in client.get("/api/audit.csv").text


def test_a_technician_sends_records_of_his_own_stops_only(planned: Company) -> None:
    """A record moves dates and doses; one for another technician's pool would be a forgery."""
    own = {"id": "5b0c6f2e-0000-4000-8000-000000000001", "technician_id": "T1", "day": "2026-11-25"}
    with signed_in_client(planned.settings, ALMA, raises=False) as client:
        assert client.post("/api/records", json={**own, "site_id": "S1"}).status_code == 201
        assert client.get(f"/api/records/{own['id']}").status_code == 200
        for wrong in (
            {**own, "site_id": "S3"},
            {**own, "site_id": "S1", "technician_id": "T2"},
            {**own},
            {"site_id": "S1"},
        ):
            assert client.post("/api/records", json=wrong).status_code == 403
            assert client.post("/api/records/batch", json=[wrong]).status_code == 403
        assert client.get("/api/sites/S3").status_code == 403
        assert client.get("/api/sites/S1").status_code == 200


def test_what_a_customer_pays_is_for_the_office_alone(planned: Company) -> None:
    """A technician reads the site of his own stop, without the price."""
    with planned.writing() as session:
        table = "id,name,rhythm,service_min,monthly_price\nS1,Invented One,weekly,30,154\n"
        import_sites(session, planned.settings, table)
    for role, price in ((ALMA, None), (DISPATCHER, 154)):
        with signed_in_client(planned.settings, role, raises=False) as client:
            assert client.get("/api/sites/S1").json()["monthly_price"] == price
