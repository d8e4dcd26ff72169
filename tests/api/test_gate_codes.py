from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from dispatch.people import Person
from tests.signed_in import ALMA, BEN, DISPATCHER, OWNER, signed_in_client
from tests.town import WEEK, open_company

CODE = "#11"  # the code of S1


@pytest.fixture
def folder(planned_folder: Path, tmp_path: Path) -> Path:
    """A planned company of the test's own."""
    shutil.copytree(planned_folder / "data", tmp_path / "data")
    return tmp_path


@contextmanager
def on(folder: Path, today: date, person: Person) -> Iterator[TestClient]:
    """The service on a day, with somebody signed in."""
    company = open_company(folder, fixed_today=today)
    with signed_in_client(company.settings, person) as client:
        yield client
    company.engine.dispose()


def day_of_s1(folder: Path) -> date:
    """The day on which S1 is served, by T1."""
    with on(folder, WEEK.monday, OWNER) as client:
        routes = client.get(f"/api/weeks/{WEEK}/plan").json()["routes"]
    return next(
        date.fromisoformat(route["day"])
        for route in routes
        if any(stop["site_id"] == "S1" for stop in route["stops"])
    )


def test_a_code_is_shown_on_the_day_to_whoever_serves_and_to_nobody_else(folder: Path) -> None:
    """A code that lies about the day before, or in the office, is a code lost."""
    day = day_of_s1(folder)
    addresses = (f"/day/T1/{day}", f"/api/technicians/T1/days/{day}")

    with on(folder, day, ALMA) as client:
        assert all(CODE in client.get(address).text for address in addresses)
    for today, person in (
        (date.fromordinal(day.toordinal() - 1), ALMA),
        (date.fromordinal(day.toordinal() + 1), ALMA),
        (day, OWNER),
        (day, DISPATCHER),
    ):
        with on(folder, today, person) as client:
            assert all(CODE not in client.get(address).text for address in addresses), person
    with on(folder, day, BEN) as client:
        assert [client.get(address).status_code for address in addresses] == [403, 403]


def test_the_office_sees_a_code_only_by_asking_and_that_is_noted(folder: Path) -> None:
    """Somebody who looks at every gate before leaving the company must be found afterwards."""
    with on(folder, WEEK.monday, DISPATCHER) as client:
        assert CODE in client.post("/sites/S1/gate-code").text
        assert client.post("/api/sites/S1/gate-code").json() == {"gate_code": CODE}
    with on(folder, WEEK.monday, ALMA) as client:
        assert client.post("/sites/S1/gate-code").status_code == 403
    with on(folder, WEEK.monday, OWNER) as client:
        lines = client.get("/api/audit").json()
    assert [(one["person_id"], one["deed"], one["target"]) for one in lines[:2]] == [
        ("desk", "POST /api/sites/{site_id}/gate-code", "site_id S1"),
        ("desk", "POST /sites/{site_id}/gate-code", "site_id S1"),
    ]


def test_a_token_gets_no_code(folder: Path) -> None:
    """A token lies in a program's settings, where more people read than ought to."""
    day = day_of_s1(folder)
    with on(folder, day, OWNER) as client:
        made = client.post(
            "/api/tokens",
            json={"name": "invented", "person_id": "owner", "scopes": ["read", "book"], "days": 1},
        )
        token = {"Authorization": f"Bearer {made.json()['secret']}"}
        client.cookies.clear()
        sheet = client.get(f"/api/technicians/T1/days/{day}", headers=token)
        assert sheet.status_code == 200
        assert CODE not in sheet.text
        assert client.post("/api/sites/S1/gate-code", headers=token).status_code == 403


def test_the_log_and_the_audit_log_hold_no_code(folder: Path) -> None:
    """They are read by more people than the codes are meant for, and copied into reports."""
    row = f"id,name,lat,lon,rhythm,service_min,gate_code\nS9,Invented,0,0.001,weekly,30,{CODE}77\n"
    with on(folder, WEEK.monday, OWNER) as client:
        client.post("/api/sites/import", files={"file": ("sites.csv", row)})
        client.post("/sites/S9/gate-code")
        client.app.state.engine = None  # type: ignore[attr-defined]
        with pytest.raises(AttributeError):
            client.post("/api/sites/S9/gate-code")
    company = open_company(folder)
    with signed_in_client(company.settings) as client:
        audit = json.dumps(client.get("/api/audit").json())
    company.engine.dispose()

    assert "POST /sites/{site_id}/gate-code" in audit
    assert f"{CODE}77" not in audit
    log = company.settings.log_file
    assert f"{CODE}77" not in (log.read_text() if log.exists() else "")
