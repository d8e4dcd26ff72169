"""First visits: the beginning of a service, and the weeks that owe the long one."""

from dataclasses import replace
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.service_plan import VisitKind
from dispatch.sites import Hold, Rhythm, ServicePlan
from dispatch.turns import DueBecause, turn_comes
from dispatch.visits import VisitsDue
from tests.pools import W49, answer, due, every, not_due, pool


def test_a_service_that_begins_mid_week_has_its_first_visit_from_that_day_on() -> None:
    """Signed up for Thursday 3 December: nobody comes on Tuesday, and the first visit is long."""
    plan = replace(every(2), started_on=date(2026, 12, 3), first_service_min=60)
    found = due(pool(plan))
    assert found.patterns == ((date(2026, 12, 3),), (date(2026, 12, 4),))
    assert (found.kind, found.service_min) == (VisitKind.FIRST, (60,))
    before = not_due(pool(plan), W49.previous)
    assert before.reason.startswith("Its service begins on 2026-12-03.")
    assert before.next_due_on == date(2026, 12, 3)


def test_only_the_first_of_two_visits_is_long() -> None:
    """The second finds a pool that somebody knows by then."""
    plan = replace(
        ServicePlan(Rhythm.TWICE_A_WEEK, 25), started_on=date(2026, 11, 30), first_service_min=60
    )
    found = due(pool(plan))
    assert (found.count, found.service_min) == (2, (60, 25))


def test_a_service_that_begins_late_in_the_week_owes_one_visit_of_two() -> None:
    """Thursday and Friday in a row would help nobody."""
    plan = replace(ServicePlan(Rhythm.TWICE_A_WEEK, 25), started_on=date(2026, 12, 3))
    found = due(pool(plan))
    assert found.patterns == ((date(2026, 12, 3),), (date(2026, 12, 4),))
    assert "One visit instead of two" in found.note


def test_a_service_that_begins_after_its_last_agreed_day_begins_in_the_next_week() -> None:
    """Mondays alone are agreed, and the service begins on a Wednesday."""
    mondays = replace(every(2), allowed_weekdays=frozenset({0}), started_on=date(2026, 12, 2))
    assert not_due(pool(mondays)).next_due_on == date(2026, 12, 7)
    assert due(pool(mondays), W49.next).kind is VisitKind.FIRST


def test_turns_are_counted_from_the_beginning_until_there_is_a_visit() -> None:
    """Begun in W49, every two weeks: W50 is free and W51 is not, whatever becomes of W49."""
    plan = replace(every(2), started_on=date(2026, 12, 1))
    weeks = [IsoWeek(2026, number) for number in (48, 49, 50, 51, 53)]
    assert [turn_comes(plan, week) for week in weeks] == [False, True, False, True, True]


def test_a_customer_who_came_back_has_a_first_visit_again() -> None:
    """The last visit was before the break of the service."""
    plan = replace(every(1), last_visit_on=date(2026, 6, 3), started_on=date(2026, 12, 1))
    assert due(replace(pool(plan))).because is DueBecause.FIRST
    later = replace(plan, last_visit_on=date(2026, 12, 1))
    assert due(pool(later), W49.next).because is DueBecause.RHYTHM


def test_the_long_first_visit_is_owed_in_this_week_and_the_next_and_not_in_each_one_ahead() -> None:
    """Begun in W49, with 90 minutes for the first: in W51 and W52 the pool will be known."""
    plan = replace(every(1), started_on=date(2026, 12, 1), first_service_min=90)
    found = [due(pool(plan), IsoWeek(2026, n), today=date(2026, 11, 30)) for n in (49, 50, 51, 52)]
    assert [one.service_min for one in found] == [(90,), (90,), (25,), (25,)]
    assert [one.kind for one in found[1:3]] == [VisitKind.FIRST, VisitKind.REGULAR]


def test_a_first_visit_weeks_ahead_is_planned_as_one() -> None:
    """Signed up in W48 for W51: nobody comes before, so that week has the long visit."""
    plan = replace(every(2), started_on=date(2026, 12, 15), first_service_min=90)
    assert due(pool(plan), IsoWeek(2026, 51)).service_min == (90,)
    assert due(pool(plan), IsoWeek(2026, 53)).service_min == (25,)


def test_a_first_visit_behind_a_hold_is_still_the_first() -> None:
    """The beginning in W49 and the week after are held: W51 is the first week to have a visit."""
    plan = replace(every(1), started_on=date(2026, 11, 30), first_service_min=90)
    away = Hold("S001", date(2026, 11, 30), date(2026, 12, 13))
    for week, kind in ((51, VisitKind.FIRST), (52, VisitKind.REGULAR)):
        found = answer(pool(plan), IsoWeek(2026, week), today=date(2026, 11, 30), holds=(away,))
        assert isinstance(found, VisitsDue)
        assert found.kind is kind
