from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.contacts import NoticeWish
from dispatch.day.state import DayState, StopState, VisitNow
from dispatch.notices.due import expected_visits, notice_of_record, notices_due
from dispatch.notices.notice import Notice, NoticeKind, NoticeState
from dispatch.places import Place
from dispatch.records.record import VisitRecord
from dispatch.sites import Rhythm, ServicePlan, Site
from tests.day.days import DAY, revision, work

VISIT = work(1)
SITE = Site(
    "S1", "Invented", "", Place(0, 0), ServicePlan(Rhythm.WEEKLY, 30),
    email="one@example.org", notices=frozenset(NoticeWish),
)  # fmt: skip
DAYS = tuple(DAY + timedelta(days=n) for n in range(4))
EVE = datetime(2026, 11, 29, 16, tzinfo=UTC)


def planned(day: date) -> DayState:
    """A published day with the visit, begun at 08:01."""
    made = revision("T1", [VISIT])
    made = replace(made, route=replace(made.route, day=day))
    now = VisitNow(VISIT, StopState.PLANNED, "T1")
    return DayState(day, 1, {"T1": made}, {VISIT.visit_id: now})


def gone(day: date, state: StopState, to_day: date | None = None) -> DayState:
    """A published day that the visit was taken out of."""
    now = VisitNow(VISIT, state, None, to_day=to_day)
    return DayState(day, 1, {}, {VISIT.visit_id: now})


def due(
    states: list[DayState], told: list[Notice], now: datetime = EVE, announced: date = DAY
) -> list[Notice]:
    return notices_due(states, told, {"S1": SITE}, announced={announced}, now=now, zone=UTC)


def sent(one: Notice) -> Notice:
    return replace(one, state=NoticeState.SENT, tries=1)


def test_what_was_wished_is_due_and_nothing_else() -> None:
    """Opt in: without the wish, the address alone does nothing."""
    (one,) = due([planned(DAY)], [])
    assert one.name == (VISIT.visit_id, NoticeKind.DAY_BEFORE, 1)
    silent = replace(SITE, notices=frozenset({NoticeWish.DONE}))
    sites = {"S1": silent}
    assert notices_due([planned(DAY)], [], sites, announced={DAY}, now=EVE, zone=UTC) == []


@pytest.mark.parametrize(
    ("now", "number"),
    [
        (datetime(2026, 11, 30, 8, 0, 59, tzinfo=UTC), 1),
        (datetime(2026, 11, 30, 8, 1, tzinfo=UTC), 0),
    ],
)
def test_nobody_is_announced_whose_time_is_over(now: datetime, number: int) -> None:
    """The planned start is 08:01, a minute's drive after 08:00."""
    assert len(due([planned(DAY)], [], now)) == number


@pytest.mark.parametrize("state", [StopState.CANCELLED, StopState.UNPLACED, StopState.DONE])
def test_a_visit_that_is_not_to_come_is_nowhere(state: StopState) -> None:
    """Nothing is promised of it."""
    assert expected_visits([gone(DAY, state)]) == {}


@given(st.lists(st.tuples(st.sampled_from(DAYS), st.booleans(), st.booleans()), max_size=8))
def test_whoever_was_told_of_a_day_hears_of_each_other_one(
    moves: list[tuple[date, bool, bool]],
) -> None:
    """A visit goes from day to day, each published or not, and a timer runs now and then.

    After each run the customer believes in the right day, is told nothing twice in a row, and
    every message has a name of its own.
    """
    told: list[Notice] = []
    here, states = DAY, {DAY: planned(DAY)}
    believes: date | None = None
    for to_day, is_published, runs in moves:
        if to_day != here:
            states[here] = gone(here, StopState.MOVED, to_day)
            states.pop(to_day, None)
            here = to_day
        if is_published:
            states[here] = planned(here)
        if not runs:
            continue
        for one in due([*states.values()], told):
            assert one.day == here != believes
            told.append(sent(one))
            believes = one.day
        if believes is not None or (here == DAY and here in states):
            assert believes == here
        assert due([*states.values()], told) == []
    assert len({one.name for one in told}) == len(told)
    assert [one.kind for one in told[1:]] == [NoticeKind.MOVED] * len(told[1:])


@given(st.lists(st.sampled_from(["off", "on", "timer", "lost"]), max_size=10))
def test_whoever_counts_on_a_visit_that_is_off_hears_of_it(steps: list[str]) -> None:
    """A visit is called off and taken up again, and a timer runs now and then.

    `lost` is a timer whose message did not reach the mail server. After each run that reached it
    the customer believes what is so, and is told nothing twice in a row; whoever was told nothing
    is not told that it is off.
    """
    told: list[Notice] = []
    is_on, believes = True, False
    for step in steps:
        if step in ("off", "on"):
            is_on = step == "on"
            continue
        states = [planned(DAY) if is_on else gone(DAY, StopState.CANCELLED)]
        for one in due(states, told):
            dropped = replace(one, state=NoticeState.DROPPED)
            told.append(sent(one) if step == "timer" else dropped)
            if step == "timer":
                assert (one.kind is NoticeKind.DAY_BEFORE) is is_on is not believes
                believes = is_on
        if step == "timer":
            assert believes is is_on
            assert due(states, told) == []
    assert len({one.name for one in told}) == len(told)


@pytest.mark.parametrize("state", [StopState.CANCELLED, StopState.SKIPPED, StopState.UNPLACED])
def test_an_announced_visit_that_does_not_take_place_is_called_off(state: StopState) -> None:
    """Told of Monday; it went on to Tuesday, untold, and fell through there."""
    (first,) = due([planned(DAY)], [])
    states = [gone(DAYS[0], StopState.MOVED, DAYS[1]), gone(DAYS[1], state)]
    assert due(states, []) == []
    (off,) = due(states, [sent(first)])
    assert (off.kind, off.day, off.from_day) == (NoticeKind.CALLED_OFF, DAYS[1], DAYS[0])
    assert due(states, [sent(first)], EVE + timedelta(days=2)) == []  # Monday is over


def test_a_visit_done_on_another_day_was_not_called_off() -> None:
    """It fell out of Monday's routes, and was done on Tuesday."""
    (first,) = due([planned(DAY)], [])
    states = [gone(DAYS[0], StopState.UNPLACED), gone(DAYS[1], StopState.DONE)]
    assert due(states, [sent(first)]) == []


def test_a_visit_that_was_done_is_told_once_and_not_when_it_is_old() -> None:
    """Three days late is a phone without signal; more is a book taken in afterwards."""
    record = VisitRecord(str(UUID(int=1)), "S1", "T1", DAY, visit_id=VISIT.visit_id)
    (late, old) = (DAY + timedelta(days=n) for n in (3, 4))
    made = notice_of_record(record, SITE, [], EVE, late)
    assert made is not None
    assert notice_of_record(record, SITE, [made], EVE, late) is None
    assert notice_of_record(record, SITE, [], EVE, old) is None
    assert notice_of_record(replace(record, skipped="gate"), SITE, [], EVE, late) is None
    dropped = replace(made, state=NoticeState.DROPPED)
    again = notice_of_record(record, SITE, [dropped], EVE, late)
    assert again is not None
    assert again.number == 2
