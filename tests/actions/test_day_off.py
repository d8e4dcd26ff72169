"""A day off that is entered after the week was planned: nobody drives that route any more."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime
from uuid import uuid4

import pytest

from dispatch.actions import day as days
from dispatch.actions.edit_plan import Edited, edit_plan
from dispatch.actions.plan_again import plan_again, take_proposal
from dispatch.actions.plan_week import plan_week
from dispatch.actions.preflight import week_findings
from dispatch.actions.read_plan import week_plan
from dispatch.actions.week_check import check_day_ready, check_ready, week_check_list
from dispatch.actions.week_desk import lock
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import moment_of
from dispatch.edits.compare import Difference
from dispatch.edits.locks import Lock, LockKind
from dispatch.edits.moves import Edit, Move, TakeOut
from dispatch.errors import InvalidValue, NotReady
from dispatch.planning.plan import Route, Rule, WeekPlan
from dispatch.preflight import Cause
from dispatch.store.book import read_technicians, write_technicians
from tests.planning.weeks import where
from tests.town import MONDAY, TODAY, WEEK, Company

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
THURSDAY, FRIDAY = WEEK.days[3:5]
S1, S2, S3 = (f"S{n}/2026-W49/1" for n in (1, 2, 3))
UPKEEP = "S2/sand-change/2026-06-01"


def give_off(company: Company, technician_id: str, *off: date) -> None:
    """Enter days off, beside those that there are."""
    with company.writing() as session:
        people = read_technicians(session)
        mine = next(one for one in people if one.id == technician_id)
        write_technicians(session, [replace(mine, days_off=mine.days_off | set(off))])


def publish(company: Company, *which: date) -> None:
    """Publish days as they are planned."""
    with company.writing() as session:
        for day in which:
            days.publish_day(session, company.settings, day, who="Ada", at=AT)


def begin(company: Company, technician_id: str, visit_id: str) -> None:
    """The first visit of Monday is done at eight."""
    at = moment_of(MONDAY, 8 * 3600, company.settings.zone)
    done = DayEvent(
        str(uuid4()), MONDAY, EventKind.DONE, at, at, technician_id, technician_id, visit_id
    )
    with company.writing() as session:
        days.add_events(session, company.settings, MONDAY, [done])


def again(company: Company, *, today: date = TODAY) -> tuple[WeekPlan, Difference]:
    """Plan again, and take the proposal."""
    made = plan_again(company.engine, company.settings, WEEK, today=today, at=AT, iterations=200)
    with company.writing() as session:
        take_proposal(session, WEEK, version=made.base, who="", at=AT)
    return stored(company), made.difference


def edit(company: Company, *edits: Edit, version: int = 1, today: date = TODAY) -> Edited:
    """An edit by an invented dispatcher."""
    return edit_plan(
        company.engine, company.settings, WEEK, edits,
        version=version, who="Invented Dora", at=AT, today=today,
    )  # fmt: skip


def stored(company: Company) -> WeekPlan:
    """The plan that the database has."""
    with company.reading() as session:
        return week_plan(session, WEEK)


def said(company: Company, today: date = TODAY) -> list[str]:
    """What the findings of the week say of days off."""
    with company.reading() as session:
        found = week_findings(session, company.settings, WEEK, today)
        points = week_check_list(session, company.settings, WEEK, today)
    lines = [one.sentence for one in found if one.cause is Cause.OFF]
    if lines:
        (current,) = (one for one in points if one.name == "up-to-date")
        assert set(lines) <= set(current.lines)
        assert current.state == "wrong"
    return lines


def is_ready(company: Company) -> bool:
    """Whether the week and its Monday alone may be published without a second press."""
    try:
        with company.reading() as session:
            check_ready(session, company.settings, WEEK, TODAY)
            check_day_ready(session, company.settings, MONDAY, TODAY)
    except NotReady:
        return False
    return True


def route(plan: WeekPlan, technician_id: str, day: date) -> Route | None:
    """The route of a technician's day."""
    return next((r for r in plan.routes if (r.technician_id, r.day) == (technician_id, day)), None)


def all_named(plan: WeekPlan) -> Iterable[str]:
    """Every mention of a visit, in routes and without a place."""
    placed = [stop.visit_id for r in plan.routes for stop in r.stops]
    return sorted([*placed, *(one.visit_id for one in plan.unplaced)])


EVERY = sorted([S1, S2, S3, "S3/2026-W49/2"])


@pytest.mark.parametrize("published", [[THURSDAY], [MONDAY], [MONDAY, THURSDAY]])
def test_stops_of_a_day_off_are_planned_again(planned: Company, published: list[date]) -> None:
    """Published or not: nobody can drive Alma's Monday, and the proposal says whom it touches."""
    publish(planned, *published)
    before = stored(planned)
    give_off(planned, "T1", MONDAY)
    plan, difference = again(planned)
    assert all_named(plan) == EVERY
    assert {where(plan)[S1][1], where(plan)[S2][1]} <= {THURSDAY, FRIDAY}
    assert {one.visit_id for one in difference.shifted} >= {S1, S2}
    for day in published:
        assert route(plan, "T2", day) == route(before, "T2", day)


def test_planning_the_week_plans_around_a_day_off(planned: Company) -> None:
    """'dispatch plan' with a part published begins with the plan at hand."""
    publish(planned, THURSDAY)
    give_off(planned, "T1", MONDAY)
    plan = plan_week(planned.engine, planned.settings, WEEK, today=TODAY, iterations=200)
    assert all_named(plan) == EVERY
    assert route(plan, "T1", MONDAY) is None


@pytest.mark.parametrize(
    "held",
    [
        Lock(LockKind.STOP, visit_id=S1),
        Lock(LockKind.DAY, day=MONDAY),
        Lock(LockKind.ROUTE, technician_id="T1", day=MONDAY),
    ],
)
def test_a_lock_holds_nothing_on_a_day_off(planned: Company, held: Lock) -> None:
    """Nobody comes there, whatever is locked."""
    with planned.writing() as session:
        lock(session, WEEK, held)
    give_off(planned, "T1", MONDAY)
    plan, _ = again(planned)
    assert all_named(plan) == EVERY
    assert where(plan)[S1] != ("T1", MONDAY)


def test_with_nobody_left_to_plan_the_visits_lose_their_place(planned: Company) -> None:
    """Ben's days are published and stay; the proposal does not hide the two customers."""
    publish(planned, MONDAY, THURSDAY)
    give_off(planned, "T1", *WEEK.days)
    give_off(planned, "T2", *(day for day in WEEK.days if day not in (MONDAY, THURSDAY)))
    before = stored(planned)
    plan, difference = again(planned)
    assert all_named(plan) == EVERY
    assert [r for r in plan.routes if r.stops] == [
        r for r in before.routes if r.technician_id == "T2"
    ]
    assert {one.visit_id: one.words for one in difference.shifted} == dict.fromkeys(
        (S1, S2), "loses its place"
    )
    reasons = {one.visit_id: one.reason for one in plan.unplaced}
    assert reasons[S1] == (
        "Invented Ben on Monday has room, but that route is published, and planning leaves it "
        "alone: move the visit there by hand and publish the day again."
    )


def test_an_edit_elsewhere_leaves_the_stops_of_a_day_off_once_where_they_are(
    planned: Company,
) -> None:
    """They wait for planning again; the edit says that nobody drives them."""
    publish(planned, THURSDAY)
    before = stored(planned)
    give_off(planned, "T1", MONDAY)
    done = edit(planned, TakeOut(S3))
    assert all_named(stored(planned)) == EVERY
    assert route(done.plan, "T1", MONDAY) == route(before, "T1", MONDAY)
    assert [one.visit_id for one in done.plan.unplaced] == [S3]
    assert [one.rule for one in done.broken] == [Rule.SHIFT]
    assert "Invented Alma is off but has 2 stops (Mon 30)." in done.new


def test_a_stop_is_taken_from_a_day_off_by_hand(planned: Company) -> None:
    """To Friday with its upkeep; the other stays, and once more nothing is doubled."""
    give_off(planned, "T1", MONDAY)
    done = edit(planned, Move(S2, "T1", FRIDAY))
    assert all_named(done.plan) == EVERY
    left = route(done.plan, "T1", MONDAY)
    assert left is not None
    assert [stop.visit_id for stop in left.stops] == [S1]
    assert left.service_s == 30 * 60
    moved = route(done.plan, "T1", FRIDAY)
    assert moved is not None
    assert moved.stops[0].upkeep_ids == (UPKEEP,)
    done = edit(planned, Move(S1, "T2", FRIDAY), version=2)
    assert route(done.plan, "T1", MONDAY) is None
    assert done.broken == ()
    with pytest.raises(InvalidValue, match="Invented Alma has no truck out on Monday"):
        edit(planned, Move(S1, "T1", MONDAY), version=3)


def test_findings_and_check_list_name_a_day_off_with_stops(planned: Company) -> None:
    """First in the plan, then on the published board, until nobody waits for Alma any more."""
    publish(planned, MONDAY)
    assert said(planned) == []
    give_off(planned, "T1", MONDAY)
    assert said(planned) == [
        "Invented Alma: off on Mon 30 but has 2 stops. Plan the week again, then publish the day "
        "again."
    ]
    assert not is_ready(planned)
    again(planned)
    assert said(planned) == [
        "Invented Alma: off on Mon 30 but 2 stops are published. Publish the day again."
    ]
    assert is_ready(planned), "publishing is what puts it right"
    publish(planned, MONDAY)
    assert said(planned) == []
    with planned.reading() as session:
        assert days.route_now(session, planned.settings, MONDAY, "T1").route.stops == ()


def test_a_day_off_in_an_unpublished_plan_asks_for_a_plan(planned: Company) -> None:
    """There is nothing to publish again."""
    give_off(planned, "T1", MONDAY)
    assert said(planned) == ["Invented Alma: off on Mon 30 but has 2 stops. Plan the week again."]


def test_a_day_under_way_stays_and_is_repaired(planned: Company) -> None:
    """Alma goes home at noon: what she has done must not be planned a second time."""
    publish(planned, MONDAY)
    before = stored(planned)
    begin(planned, "T1", S1)
    give_off(planned, "T1", MONDAY)
    plan, difference = again(planned, today=MONDAY)
    assert all_named(plan) == EVERY
    assert route(plan, "T1", MONDAY) == route(before, "T1", MONDAY)
    assert difference.moved == ()
    assert said(planned, MONDAY) == [
        "Invented Alma: off on Mon 30 but has 1 stop. The day is under way: repair it."
    ]


def test_nobody_is_planned_into_a_day_under_way(planned: Company) -> None:
    """Alma's Monday is empty when Ben has begun his: it cannot be published any more."""
    edit(planned, TakeOut(S1))
    edit(planned, TakeOut(S2), version=2)
    publish(planned, MONDAY)
    begin(planned, "T2", S3)
    give_off(planned, "T1", *(day for day in WEEK.days if day != MONDAY))
    give_off(planned, "T2", *(day for day in WEEK.days if day not in (MONDAY, THURSDAY)))
    publish(planned, THURSDAY)
    plan, _ = again(planned, today=MONDAY)
    reasons = {one.visit_id: one.reason for one in plan.unplaced}
    assert reasons[S1] == (
        "Invented Ben on Thursday has room, but that route is published, and planning leaves it "
        "alone: move the visit there by hand and publish the day again."
    )
    edit(planned, Move(S1, "T2", THURSDAY), version=4, today=MONDAY)
    publish(planned, THURSDAY)
    with planned.reading() as session:
        driven = days.route_now(session, planned.settings, THURSDAY, "T2").route
    assert S1 in [stop.visit_id for stop in driven.stops]


def test_days_that_are_over_ask_for_nothing(planned: Company) -> None:
    """A day off entered afterwards changes no history."""
    before = stored(planned)
    give_off(planned, "T1", MONDAY)
    plan, _ = again(planned, today=THURSDAY)
    assert route(plan, "T1", MONDAY) == route(before, "T1", MONDAY)
    assert said(planned, THURSDAY) == []
