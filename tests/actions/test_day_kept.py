"""Visits that are sent to another day while no route changes: who keeps them, and who is told."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from dispatch.actions import day as actions
from dispatch.actions.day_revisions import keeper_of
from dispatch.actions.published_day import read_day
from dispatch.day.events import EventKind
from dispatch.day.moments import moment_of
from dispatch.day.options import Choice
from dispatch.day.state import Gone, StopState
from dispatch.day.work import Revision, Work
from tests.town import MONDAY, WEEK, Company

THURSDAY, FRIDAY = WEEK.days[3:5]
LOOK = Work("look/1", "S3", 900, usual_technician_id="T2", title="Look at the pump")


@pytest.fixture
def published(planned: Company) -> Company:
    """A company whose Monday and Thursday are published; T1 and T2 are out on Monday."""
    with planned.writing() as session:
        for day in (MONDAY, THURSDAY):
            actions.publish_day(session, planned.settings, day, who="Ada", at=six(planned, day))
    return planned


def six(company: Company, day: date) -> datetime:
    return moment_of(day, 6 * 3600, company.settings.zone)


def take(company: Company, choice: Choice) -> tuple[Revision, ...]:
    """Put a choice into force on Monday morning."""
    with company.writing() as session:
        number = actions.history(session, company.settings, MONDAY)[-1].number
        return actions.take_option(
            session,
            company.settings,
            MONDAY,
            choice,
            expected_version=number,
            who="Ada",
            now=six(company, MONDAY),
        )


def told(company: Company, day: date) -> dict[str, list[str]]:
    """What technicians are told by the last repair of a day."""
    with company.reading() as session:
        repairs = [
            one
            for one in actions.history(session, company.settings, day)
            if one.kind is EventKind.REPAIRED
        ]
    changes: dict[str, list[str]] = repairs[-1].data["changes"]
    return changes


def test_new_work_for_another_day_is_kept_with_who_usually_comes(published: Company) -> None:
    """T2 serves S3: T1, the first by id, has nothing to do with it and hears nothing."""
    choice = Choice(
        {}, gone=(Gone(LOOK.visit_id, StopState.MOVED, FRIDAY),), added=(LOOK,), why="Pump hums."
    )
    (made,) = take(published, choice)
    assert (made.technician_id, made.works[-1]) == ("T2", LOOK)
    assert told(published, MONDAY) == {
        "T2": ["Invented Three is put on 2026-12-04; your route stays as it is."]
    }
    with published.reading() as session:
        known = read_day(session, MONDAY).visits[LOOK.visit_id]
    assert (known.state, known.to_day) == (StopState.MOVED, FRIDAY)


def test_what_finds_no_place_on_its_new_day_is_kept_with_who_had_it(published: Company) -> None:
    """Five persons are aboard nowhere; the visit is known on Thursday, with T2's words for it."""
    big = Work("look/1", "S3", 900, usual_technician_id="T2", crew=5)
    take(published, Choice({}, gone=(Gone(big.visit_id, StopState.MOVED, THURSDAY),), added=(big,)))
    assert told(published, THURSDAY) == {
        "T2": ["Invented Three comes to this day and has no place yet; your route stays as it is."]
    }
    with published.reading() as session:
        state = read_day(session, THURSDAY)
    assert state.visits[big.visit_id].state is StopState.UNPLACED
    assert big in state.revisions["T2"].works


def test_who_had_a_visit_goes_before_who_usually_comes() -> None:
    """A visit that T3 had taken over belongs to T3; without either, to the first by id."""
    assert keeper_of(LOOK, ["T1", "T2", "T3"], {"look/1": "T3"}) == "T3"
    assert keeper_of(LOOK, ["T1", "T2", "T3"], {"look/1": "T9"}) == "T2"
    assert keeper_of(LOOK, ["T1", "T3"], {"look/1": None}) == "T1"
