from __future__ import annotations

import asyncio
import json
import re
from types import SimpleNamespace

import pytest
from fastapi import FastAPI, Request
from starlette.testclient import TestClient

from api.app import create_app
from api.callers import check_rights
from api.known_routes import KnownRoute, routes_of
from api.rights import RIGHTS
from api.rules import Own
from dispatch.actions.day_publish import publish_day
from dispatch.actions.take_in import take_in_record
from dispatch.errors import NotAllowed
from dispatch.people import Caller, Person, Role
from tests.records.samples import content, record_id
from tests.signed_in import ALMA, BEN, DISPATCHER, OWNER, signed_in_client
from tests.town import MONDAY, Company, open_company, planned_company

NOT_LET_IN = {401, 403}
PLACES = {  # what stands in the path of a call; BEN serves none of it
    "week": "2026-W49",
    "day": "2026-11-30",
    "first_day": "2026-12-14",
    "technician_id": "T1",
    "site_id": "S1",
}


@pytest.fixture(scope="module")
def routes(tmp_path_factory: pytest.TempPathFactory) -> list[KnownRoute]:
    """Every route there is."""
    company = open_company(tmp_path_factory.mktemp("routes"))
    company.engine.dispose()
    return list(routes_of(create_app(company.settings)))


def test_every_route_has_a_rule_and_every_rule_a_route(routes: list[KnownRoute]) -> None:
    """A new route answers nobody until somebody has said who may call it."""
    missing = [f'    "{route.key}": office(READ),' for route in routes if route.key not in RIGHTS]
    assert not missing, (
        "These routes have no rule. Add to RIGHTS in api/rights.py, with the right helper of those "
        "its docstring lists (pages have no scope):\n" + "\n".join(missing)
    )
    known = {route.key for route in routes}
    left_over = [key for key in RIGHTS if key not in known]
    assert not left_over, f"These rules of api/rights.py have no route any more: {left_over}"


def test_what_a_rule_asks_for_stands_in_the_path(routes: list[KnownRoute]) -> None:
    """A rule about a technician's own site needs the site; without it the check would break."""
    needed = {
        Own.ROUTE: "technician_id",
        Own.SITE: "site_id",
        Own.RECORD: "record_id",
        Own.PHOTO: "photo_id",
        Own.SENT_OF_SITE: "site_id",
        Own.SENT_OF_RECORD: "record_id",
    }
    wrong = [
        key
        for key, rule in RIGHTS.items()
        if rule.own in needed and f"{{{needed[rule.own]}}}" not in key
    ]
    assert wrong == []


@pytest.mark.parametrize("person", [None, OWNER, DISPATCHER, ALMA, BEN], ids=str)
def test_no_route_answers_a_role_without_the_right(
    planned: Company, routes: list[KnownRoute], person: Person | None
) -> None:
    """The walk itself: each route, each role, signed in or not, on a company with a full week."""
    role = None if person is None else person.role
    wrong = []
    with signed_in_client(planned.settings, person, raises=False) as client:
        for route in routes:
            rule = RIGHTS.get(route.key)
            if rule is not None and (rule.is_public or (role in rule.roles and rule.own is None)):
                continue
            if role in {Role.OWNER, Role.DISPATCHER} and rule is not None and role in rule.roles:
                continue
            if person is ALMA and rule is not None and role in rule.roles:
                continue
            answer = _call(client, route)
            is_led_to_sign_in = answer.status_code == 303 and answer.headers["location"].startswith(
                "/sign-in"
            )
            if answer.status_code not in NOT_LET_IN and not (person is None and is_led_to_sign_in):
                wrong.append((route.key, answer.status_code))
    assert wrong == []


def _call(client: TestClient, route: KnownRoute, places=PLACES):  # type: ignore[no-untyped-def]
    path = re.sub(r"\{(\w+)(:\w+)?\}", lambda found: places.get(found[1], "x"), route.path)
    return client.request(route.method, path + QUERIES.get(route.key, ""), follow_redirects=False)


def test_a_route_without_a_rule_answers_nobody(client: TestClient) -> None:
    """Forgetting must shut a door, not leave it open."""
    app = client.app
    assert isinstance(app, FastAPI)
    del app.state.rules[
        next(key for key, (name, _) in app.state.rules.items() if name == "GET /sites")
    ]

    answer = client.get("/sites")

    assert answer.status_code == 403
    assert "no rule yet" in answer.text


PHOTO = "ab" * 32  # of a record that was sent before its photo
NOTHING_YET = {  # allowed, and answered in words with 404: nobody has reckoned this yet
    "GET /api/upkeep/levelling", "GET /api/upkeep/levelling.csv", "GET /api/upkeep/year.csv",
    "GET /api/upkeep/left-out.csv",
    "GET /api/weeks/{week}/balance", "GET /api/weeks/{week}/balance.csv",
    "GET /api/weeks/{week}/balance-hours.csv", "GET /api/what-if", "GET /api/what-if.csv",
    "GET /api/standing/studies/{name}", "GET /api/standing/studies/{name}/moves.csv",
    "GET /api/hiring", "GET /api/hiring.csv",
    "GET /api/weeks/{week}/proposal", "GET /api/jobs/{job_id}",
    "GET /import/{noun}/{name}", "GET /import/{noun}/{name}/problems.csv",
    "GET /api/weeks/{week}/compare", "GET /api/weeks/{week}/compare.csv",
    "GET /api/photos/{photo_id}", "GET /api/one-offs/{work_id}",
}  # fmt: skip
ENDLESS = {"GET /api/days/{day}/stream", "GET /api/jobs/{job_id}/events"}  # streams
QUERIES = {
    "GET /api/map/within": "?address=2 ab street",
    "GET /day/{day}/repair": "?kind=technician-out&technician_id=T1&time=07:00",
}
FULL_PLACES = PLACES | {
    "record_id": record_id(1), "number": "1", "name": "improve", "noun": "sites",
    "kind": "sand-change", "job_id": "none", "work_id": "none", "photo_id": PHOTO,
}  # fmt: skip


@pytest.fixture(scope="module")
def lived_in(tmp_path_factory: pytest.TempPathFactory) -> Company:
    """A company whose Monday is published and has a record of ALMA; for reading only."""
    company = planned_company(tmp_path_factory.mktemp("lived-in"))
    with company.writing() as session:
        at = company.settings.now()
        publish_day(session, company.settings, MONDAY, who="Invented Desk", at=at)
        take_in_record(session, company.settings, content(photos=[PHOTO]))
    return company


@pytest.mark.sqlite_only
@pytest.mark.parametrize("person", [OWNER, DISPATCHER, ALMA], ids=str)
def test_what_a_role_may_see_is_shown(
    lived_in: Company, routes: list[KnownRoute], person: Person
) -> None:
    """A walk that only counted refusals would be content with a service that refuses everything."""
    wrong = []
    with signed_in_client(lived_in.settings, person, raises=False) as client:
        for route in routes:
            rule = RIGHTS[route.key]
            if route.method != "GET" or route.key in ENDLESS or person.role not in rule.roles:
                continue
            answer = _call(client, route, FULL_PLACES)
            expected = {404} if route.key in NOTHING_YET else {200, 307}  # 307: the first page
            if answer.status_code not in expected:
                wrong.append(f"{route.key}: {answer.status_code} {answer.text[:200]}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.sqlite_only
@pytest.mark.parametrize("person", [OWNER, DISPATCHER, ALMA], ids=str)
def test_what_a_role_may_do_is_let_through(
    lived_in: Company, routes: list[KnownRoute], person: Person
) -> None:
    """The check of each writing call by itself, so that the walk changes nothing."""
    app = create_app(lived_in.settings)
    sent = {"technician_id": "T1", "site_id": "S1"}
    wrong = []
    for route in routes:
        rule = RIGHTS[route.key]
        if route.method == "GET" or rule.is_public:
            continue
        let_in = asyncio.run(_is_let_in(app, route, person, sent))
        if let_in != (person.role in rule.roles):
            wrong.append((route.key, let_in))
    assert wrong == []


async def _is_let_in(app: FastAPI, route: KnownRoute, person: Person, sent: dict[str, str]) -> bool:
    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": json.dumps(sent).encode(), "more_body": False}

    path = {name: FULL_PLACES.get(name, "x") for name in re.findall(r"\{(\w+)", route.path)}
    scope = {
        "type": "http", "method": route.method, "path": route.path, "path_params": path,
        "headers": [(b"content-type", b"application/json")], "query_string": b"", "app": app,
        "endpoint": route.endpoint, "route": SimpleNamespace(body_field=None),
        "state": {"caller": Caller(person)},
    }  # fmt: skip
    try:
        await check_rights(Request(scope, receive))
    except NotAllowed:
        return False
    return True
