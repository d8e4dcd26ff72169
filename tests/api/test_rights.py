from __future__ import annotations

import re
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from api.app import create_app
from api.known_routes import KnownRoute, routes_of
from api.rights import RIGHTS
from api.rules import Own
from dispatch.people import Person, Role
from tests.signed_in import ALMA, BEN, DISPATCHER, OWNER, signed_in_client
from tests.town import open_company

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
    planned_folder: Path, routes: list[KnownRoute], person: Person | None
) -> None:
    """The walk itself: each route, each role, signed in or not, on a company with a full week."""
    company = open_company(planned_folder)
    role = None if person is None else person.role
    wrong = []
    with signed_in_client(company.settings, person, raises=False) as client:
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
    company.engine.dispose()
    assert wrong == []


def _call(client: TestClient, route: KnownRoute):  # type: ignore[no-untyped-def]
    path = re.sub(r"\{(\w+)(:\w+)?\}", lambda found: PLACES.get(found[1], "x"), route.path)
    return client.request(route.method, path, follow_redirects=False)


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
