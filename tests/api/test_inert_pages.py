"""HTML in every text field of every table, and every page that could show it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, cast

import pytest
from sqlalchemy import JSON, Column, String, Table, select, update
from sqlmodel import Session
from sqlmodel.sql.sqltypes import AutoString

from api.app import create_app
from api.known_routes import KnownRoute, routes_of
from dispatch.actions.day_publish import publish_day
from dispatch.actions.one_off_work import add_one_off
from dispatch.actions.take_in import take_in_record
from dispatch.notices.notice import Notice, NoticeKind
from dispatch.one_offs import OneOff
from dispatch.service_plan import VisitKind
from dispatch.store.metadata import METADATA
from dispatch.store.notices import add_notices
from tests.api.test_rights import ENDLESS, FULL_PLACES, QUERIES
from tests.records.samples import full_content
from tests.signed_in import OWNER, signed_in_client
from tests.town import MONDAY, Company, planned_company

LONGEST_CODE = 100  # a column that holds less has ids and names of kinds
# Longer ones that hold what the program itself writes, and reads again: a new column is text.
NOT_TEXT = {
    "audit.deed", "audit.target", "audit.via", "photo.media_type", "person.password_hash",
    "site.gate_code", "job_report.worker", "job_report.outcome", "plan_upkeep.kind",
    "change.reason", "record_aside.record_id", "plan_version.step", "site.email",
}  # fmt: skip
READ_AGAIN = re.compile(r".*(_id|digest)")
MARK = "\"'><mark-x>{{7*7}}"
EMPTY = {  # tables with text of which this company has no row; what writes them is tried elsewhere
    "api_token", "calendar", "change", "level_slot", "phone_entry", "plan_proposal", "put_off",
    "standing_change", "unplaced", "upkeep_kind", "water_target",
}  # fmt: skip
FEWEST_SHOWN = 10  # columns that some page shows, so that the pages were no empty ones


class Reader(HTMLParser):
    """Reads a page as a browser does, and notes what the mark managed to become."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.became: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Called by the library for each element."""
        self.became += [tag] if tag == "mark-x" else []
        self.became += [name for name, _ in attrs if "mark-x" in name]
        self.became += [
            f"{name}={value}"
            for name, value in attrs
            if (name.startswith("on") or name == "style") and "mark-x" in (value or "")
        ]


def text_columns() -> Iterator[tuple[Table, Column[Any]]]:
    """Every column in which people's text may stand."""
    for table in METADATA.sorted_tables:
        for column in table.columns:
            name = f"{table.name}.{column.name}"
            if not isinstance(column.type, AutoString) or column.primary_key:
                continue
            length = cast("String", column.type.impl).length
            is_code = length is not None and length < LONGEST_CODE
            if not is_code and name not in NOT_TEXT and not READ_AGAIN.fullmatch(column.name):
                yield table, column


def mark_all(session: Session) -> None:
    """Put the mark into all of them, and into what reads like a sentence in JSON."""
    empty = {
        table.name
        for table, column in text_columns()
        if session.execute(select(column).limit(1)).first() is None
    }
    assert empty <= EMPTY, "these tables have text and no row: add some to the company"
    for table, column in text_columns():
        session.execute(update(table).values({column.name: f"{column.name} {MARK}"}))
    for table in METADATA.sorted_tables:
        for column in table.columns:
            if isinstance(column.type, JSON):
                for row in session.execute(select(*table.primary_key, column)).mappings():
                    here = [key == row[key.name] for key in table.primary_key]
                    values = {column.name: marked(row[column.name])}
                    session.execute(update(table).where(*here).values(values))


def marked(value: Any) -> Any:
    """JSON with the mark behind every string that has a space."""
    if isinstance(value, dict):
        return {name: marked(one) for name, one in value.items()}
    if isinstance(value, list):
        return [marked(one) for one in value]
    return f"{value} {MARK}" if isinstance(value, str) and " " in value else value


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Company:
    """A company with something in every list, and the mark in all of it."""
    company = planned_company(tmp_path_factory.mktemp("hostile"))
    at = company.settings.now()
    with company.writing() as session:
        publish_day(session, company.settings, MONDAY, who="Invented Desk", at=at)
        take_in_record(session, company.settings, full_content())
        take_in_record(session, company.settings, {"id": "no record at all"})
        last = MONDAY + timedelta(days=4)
        gate = OneOff("J1", "S1", "Mend the gate", VisitKind.ONE_OFF, MONDAY, last, (20,))
        add_one_off(session, gate)
        day_before = NoticeKind.DAY_BEFORE
        add_notices(session, [Notice("S1/1", day_before, 1, "S1", MONDAY, at, at, why="refused")])
    return company


def path_of(route: KnownRoute) -> str:
    """The address of a route, with what there is in this company."""
    places = FULL_PLACES | {"work_id": "J1"}
    path = re.sub(r"\{(\w+)(:\w+)?\}", lambda found: places.get(found[1], "x"), route.path)
    return path + QUERIES.get(route.key, "")


@pytest.mark.sqlite_only
def test_html_in_any_text_field_stays_text_on_every_page(hostile: Company) -> None:
    """What a customer's name or a technician's note says must never become part of a page."""
    routes = list(routes_of(create_app(hostile.settings)))
    with signed_in_client(hostile.settings, OWNER, raises=False) as client:
        hold = {"site_id": "S2", "first_day": "2027-01-04", "last_day": "2027-01-05"}
        assert client.post("/api/holds", json=hold).status_code == 201  # a line in the audit log
        with hostile.writing() as session:
            mark_all(session)
        shown, wrong = set(), []
        for route in routes:
            if route.method != "GET" or route.key in ENDLESS:
                continue
            answer = client.get(path_of(route), follow_redirects=False)
            if answer.status_code >= 500:
                wrong.append(f"{route.key}: {answer.status_code} {answer.text[:300]}")
            if not answer.headers.get("content-type", "").startswith("text/html"):
                assert answer.headers["x-content-type-options"] == "nosniff", route.key
                continue
            reader = Reader()
            reader.feed(answer.text)
            wrong += [f"{route.key}: {one}" for one in reader.became]
            shown |= set(re.findall(r"(\w+) &#34;&#39;&gt;&lt;mark-x&gt;\{\{7\*7\}\}", answer.text))
    assert not wrong, "\n".join(wrong)
    assert len(shown) >= FEWEST_SHOWN, shown


def test_scripts_never_make_elements_of_text() -> None:
    """What pages show later, from JSON, is put there as text."""
    sources = Path(__file__).parents[2] / "api" / "web" / "src"
    writing = re.compile(r"innerHTML|outerHTML\s*=|insertAdjacentHTML|document\.write|\beval\(")
    found = [
        f"{file.name}: {line.strip()}"
        for file in sources.rglob("*.ts")
        for line in file.read_text(encoding="utf-8").splitlines()
        if writing.search(line)
    ]
    assert found == []
