"""People of an installation with several branches: one sign-in name, rights for each branch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from sqlalchemy import insert
from starlette.testclient import TestClient

from api.callers import COOKIE, cookie_of
from dispatch.actions import people
from dispatch.actions.book import import_sites, import_technicians
from dispatch.people import Person, Role, Scope
from dispatch.settings import Settings
from dispatch.store.db import make_engine, transaction
from dispatch.store.directory import open_directory
from dispatch.store.people_tables import PersonRightRow, PersonRow
from dispatch.store.tables import table_of
from tests.signed_in import OWNER, session_of, signed_in_client
from tests.town import SITES_CSV, TECHNICIANS_CSV, open_company

ANY = {"If-Match": "*"}
PASSWORD = "four words of nothing"  # noqa: S105 - invented
SOUTHERNER = Person("owner-south", "Invented Southerner", Role.OWNER)
BOSS = Person("boss", "Invented Boss", Role.OWNER)
CHIEF = Person("chief", "Invented Chief", Role.OWNER)


@dataclass(frozen=True)
class Branches:
    """The services of two branches."""

    north: TestClient
    south: TestClient

    @staticmethod
    def settings(client: TestClient) -> Settings:
        return client.app.state.settings  # type: ignore[attr-defined, no-any-return]


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Branches]:
    """North has sites and technicians, south has technicians; each has an owner of its own."""
    root = open_company(tmp_path_factory.mktemp("branches"))
    root.engine.dispose()
    clients = []
    for name in ("north", "south"):
        settings = root.settings.of_branch(name)
        # not entered: one process works on the jobs of one service, and these have none
        client = signed_in_client(settings, None, raises=False)
        with transaction(client.app.state.engine) as session:  # type: ignore[attr-defined]
            import_technicians(session, settings, TECHNICIANS_CSV)
            if name == "north":
                import_sites(session, settings, SITES_CSV.replace("2 ab street", ""))
        clients.append(client)
    yield Branches(*clients)
    for client in clients:
        for engine in ("engine", "directory"):
            getattr(client.app.state, engine).dispose()  # type: ignore[attr-defined]


@pytest.fixture
def branches(services: Branches) -> Branches:
    """Both services, in each of which its owner is signed in."""
    sign_in(services.north, OWNER)
    sign_in(services.south, SOUTHERNER)
    return services


def sign_in(client: TestClient, person: Person) -> None:
    """Sign somebody in, and everybody else out of this client."""
    client.cookies.clear()
    settings, engine = client.app.state.settings, client.app.state.engine  # type: ignore[attr-defined]
    client.cookies.set(cookie_of(settings), session_of(engine, settings, person))


def invite(client: TestClient, person_id: str) -> str:
    """Path of a link by which somebody sets a password."""
    answer = client.post(f"/api/people/{person_id}/invitation")
    assert answer.status_code == 201, answer.text
    return "/welcome/" + str(answer.json()["address"]).rpartition("/")[2]


def test_one_name_and_password_with_the_rights_of_each_branch(branches: Branches) -> None:
    """A dispatcher of the north who helps out in the south as a technician, and no more there."""
    north, south = branches.north, branches.south
    wish = {"id": "ben", "name": "Invented Ben", "role": "dispatcher"}
    assert north.post("/api/people", json=wish).status_code == 201
    link = invite(north, "ben")
    assert south.post("/api/people", json=wish).status_code == 422  # is it the same Ben?
    right = {"role": "technician", "technician_id": "T9"}
    assert south.post("/api/people/ben/rights", json=right).status_code == 422  # no such one
    right = {"role": "technician", "technician_id": "T1"}
    assert south.post("/api/people/ben/rights", json=right).status_code == 201

    assert south.get(link).status_code == 410  # a link of the north opens nothing here
    for client in (north, south):
        client.cookies.clear()
    north.post(link, data={"password": PASSWORD, "again": PASSWORD})
    south.post("/sign-in", data={"person_id": "ben", "password": PASSWORD})

    assert (north.get("/api/me").json()["role"], north.get("/sites").status_code) == (
        "dispatcher",
        200,
    )
    assert (south.get("/api/me").json()["role"], south.get("/sites").status_code) == (
        "technician",
        403,
    )
    assert "north: dispatcher" in south.get("/account").text


def test_nobody_of_one_branch_sees_anything_of_another(branches: Branches) -> None:
    """Neither by signing in, nor with the browser or the token that opens the own branch."""
    north, south = branches.north, branches.south
    token = north.post(
        "/api/tokens", json={"name": "invented", "person_id": OWNER.id, "scopes": ["read"]}
    ).json()["secret"]
    by_token = {"Authorization": f"Bearer {token}"}
    secret = north.cookies[cookie_of(branches.settings(north))]
    assert len(north.get("/api/sites").json()) == 3

    south.cookies.clear()
    assert south.get("/api/sites", headers=by_token).status_code == 401
    for name in (COOKIE, cookie_of(branches.settings(north)), cookie_of(branches.settings(south))):
        south.cookies.set(name, secret)
    assert south.get("/api/sites").status_code == 401
    north.post(invite(north, OWNER.id), data={"password": PASSWORD, "again": PASSWORD})
    south.cookies.clear()
    tried = south.post("/sign-in", data={"person_id": OWNER.id, "password": PASSWORD})
    assert tried.status_code == 401
    assert north.get("/api/sites", headers=by_token).status_code == 200


def test_an_owner_of_one_branch_cannot_get_into_another_by_a_password_link(
    branches: Branches,
) -> None:
    """Whoever could set the password of somebody of two branches would own both."""
    north, south = branches.north, branches.south
    sign_in(north, BOSS)
    sign_in(north, OWNER)
    assert south.post("/api/people/boss/rights", json={"role": "dispatcher"}).status_code == 201

    refused = south.post("/api/people/boss/invitation")
    assert (refused.status_code, "north" in refused.text) == (403, True)
    assert south.post("/people/boss/invite").status_code == 403
    assert north.post("/api/people/boss/invitation").status_code == 403  # nor the other way round
    sign_in(south, BOSS)  # as an owner, of both now
    sign_in(north, BOSS)
    assert north.post("/api/people/boss/invitation").status_code == 201


def test_an_owner_of_one_branch_gives_nobody_of_another_a_new_name(branches: Branches) -> None:
    """The name stands in the other branch's audit log and histories, as who did it."""
    north, south = branches.north, branches.south
    sign_in(north, CHIEF)
    sign_in(south, SOUTHERNER)
    assert south.post("/api/people/chief/rights", json={"role": "dispatcher"}).status_code == 201

    wish = {"id": "chief", "name": "Invented Nobody", "role": "technician", "technician_id": "T1"}
    refused = south.put("/api/people/chief", json=wish, headers=ANY)
    assert (refused.status_code, "north" in refused.text) == (403, True)
    same = south.put("/api/people/chief", json=wish | {"name": CHIEF.name}, headers=ANY)
    assert same.status_code == 200
    assert north.get("/api/me").json()["name"] == CHIEF.name


def test_an_owner_of_one_branch_signs_nobody_out_of_another(branches: Branches) -> None:
    """Anybody can be granted a right in the south, and would be kept from working in the north."""
    north, south = branches.north, branches.south
    sign_in(north, CHIEF)
    sign_in(south, CHIEF)
    chief = dict(south.cookies)
    sign_in(south, SOUTHERNER)

    page = south.post("/people/chief/sign-out")

    assert "stays signed in in north, where you are no owner" in page.text
    assert north.get("/api/me").json()["id"] == "chief"
    south.cookies.update(chief)
    assert south.get("/api/me").status_code == 401
    sign_in(south, CHIEF)
    south.post("/account/sign-out-everywhere")  # oneself, everywhere
    assert north.get("/api/me").status_code == 401


def test_taken_out_of_one_branch_and_not_of_the_other(branches: Branches) -> None:
    """The right goes with the sessions of that branch; the last right takes the person along."""
    north, south = branches.north, branches.south
    sign_in(north, CHIEF)
    sign_in(south, CHIEF)
    chief = dict(south.cookies)
    sign_in(south, SOUTHERNER)
    assert south.delete("/api/people/chief", headers=ANY).status_code == 204
    south.cookies.update(chief)
    assert south.get("/api/me").status_code == 401
    assert north.get("/api/me").json()["id"] == "chief"
    deeds = [one["deed"] for one in north.get("/api/audit?people=true").json()]
    assert "DELETE /api/people/{person_id}" not in deeds  # it was done in the south


def test_people_of_a_branch_from_before_the_directory_go_on(tmp_path: Path) -> None:
    """An upgrade locks nobody out, and takes no stranger of the same name for somebody."""
    root = open_company(tmp_path)
    now, north = root.settings.now(), root.settings.of_branch("north")
    with root.writing() as session:
        people.add_person(session, OWNER, now, technicians=())
    engine = make_engine(north)
    old = [{"id": one, "name": one, "units": "", "language": "", "password_hash": f"hash of {one}",
            "made_at": now.replace(tzinfo=None)} for one in ("owner", "ada")]  # fmt: skip
    with transaction(engine) as session:
        session.execute(insert(table_of(PersonRow)).values(old))
        for one in old:
            right = {"person_id": one["id"], "branch": "", "role": "owner"}
            session.execute(insert(table_of(PersonRightRow)).values(right))
        people.make_token(session, "ada", "invented", [Scope.READ], days=9, now=now)
    directory = open_directory(north, engine)
    with transaction(directory, read_only=True) as session:
        assert [one.id for one in people.everybody(session)] == ["ada", "owner.north"]
        assert [one.person_id for one in people.tokens(session)] == ["ada"]
    with root.reading() as session:
        assert people.everybody(session) == [OWNER]
    for opened in (engine, directory, root.engine):
        opened.dispose()
