from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from sqlalchemy import Engine, func, select
from sqlmodel import Session

from dispatch.errors import NotFound
from dispatch.store.book import write_sites, write_technicians
from dispatch.store.db import transaction
from dispatch.store.metadata import METADATA
from dispatch.store.plans import (
    read_inputs_digest,
    read_plan,
    read_plan_upkeep,
    read_planned_weeks,
    write_plan,
)
from dispatch.store.tables import StopRow, table_of
from tests.store.values import PLAN, SITES, TECHNICIANS, UPKEEP, WEEK

pytestmark = pytest.mark.both_databases


@pytest.fixture
def session(engine: Engine) -> Iterator[Session]:
    """A transaction on a book that knows the sites and technicians of the plan."""
    with transaction(engine) as session:
        write_sites(session, SITES)
        write_technicians(session, TECHNICIANS)
        yield session


def test_a_plan_is_the_same_after_the_round_trip(session: Session) -> None:
    """Order of routes, cells, a route without stops: everything comes back."""
    write_plan(session, PLAN, UPKEEP, "digest")
    assert read_plan(session, WEEK) == PLAN
    assert read_plan_upkeep(session, WEEK) == {one.id: one for one in UPKEEP}
    assert read_inputs_digest(session, WEEK) == "digest"


def test_a_new_plan_replaces_the_old_one_and_no_other(session: Session) -> None:
    """Each week has one plan; those of other weeks stay."""
    other = replace(PLAN, week=WEEK.next)
    empty = replace(PLAN, routes=(), unplaced=(), put_off=(), changes=())
    write_plan(session, PLAN, UPKEEP, "old")
    write_plan(session, other, UPKEEP, "other")
    write_plan(session, empty, [], "new")
    assert read_plan(session, WEEK) == empty
    assert read_plan_upkeep(session, WEEK) == {}
    assert read_inputs_digest(session, WEEK) == "new"
    assert read_plan(session, WEEK.next) == other
    assert read_planned_weeks(session) == [WEEK, WEEK.next]


def test_a_replaced_plan_leaves_no_rows_behind(session: Session) -> None:
    """Rows that nothing reads any more would grow with every re-planning."""
    write_plan(session, PLAN, UPKEEP, "old")
    write_plan(session, replace(PLAN, routes=()), [], "new")
    stops = session.execute(select(func.count()).select_from(table_of(StopRow))).scalar_one()
    assert stops == 0


def test_a_week_without_a_plan_says_how_to_make_it(session: Session) -> None:
    """The reader of the message should know the next step."""
    with pytest.raises(NotFound, match="no plan of week 2026-W49 yet") as told:
        read_plan(session, WEEK)
    assert told.value.command == "dispatch plan 2026-W49"
    with pytest.raises(NotFound):
        read_inputs_digest(session, WEEK)


def test_every_table_belongs_to_the_book_or_to_a_plan() -> None:
    """A table that is not named here is one that nobody writes."""
    assert set(METADATA.tables) == {
        *("site", "technician", "hold", "one_off"),
        *("record", "record_version", "record_aside", "reading", "photo"),
        *("follow_up", "water_target"),
        *("plan", "route", "stop", "unplaced", "put_off", "change", "plan_upkeep"),
        *("upkeep_kind", "level_run", "level_slot", "level_load"),
        *("plan_version", "plan_proposal", "plan_lock"),
        *("day_revision", "day_event", "phone_entry"),
        *("standing_change", "study", "job_report", "calendar", "failed_sign_in"),
        *("opened_link", "notice"),
        *("person", "person_right", "person_link", "person_session", "api_token", "audit"),
    }
