from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from dispatch.actions.edit_plan import edit_plan
from dispatch.actions.plan_again import Proposal, drop_proposal, plan_again, proposal, take_proposal
from dispatch.actions.plan_versions import trail, undo
from dispatch.actions.plan_week import plan_week
from dispatch.actions.read_plan import week_plan
from dispatch.actions.week_desk import lock, locks, unlock
from dispatch.edits.locks import Lock, LockKind
from dispatch.edits.moves import Move, TakeOut
from dispatch.errors import ChangedMeanwhile, InvalidValue, NotFound
from dispatch.planning.plan import WeekPlan
from tests.planning.weeks import where
from tests.town import MONDAY, TODAY, WEDNESDAY, WEEK, Company

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
S1, S2 = "S1/2026-W49/1", "S2/2026-W49/1"


def again(company: Company, today: date = TODAY) -> Proposal:
    """A short run from the present plan."""
    return plan_again(company.engine, company.settings, WEEK, today=today, at=AT, iterations=200)


def edited(company: Company, *edits: Move | TakeOut, version: int = 1) -> WeekPlan:
    """The plan after edits by hand."""
    return edit_plan(
        company.engine, company.settings, WEEK, edits,
        version=version, who="Invented Dora", at=AT, today=TODAY,
    ).plan  # fmt: skip


def stored(company: Company) -> WeekPlan:
    """The plan that the database has."""
    with company.reading() as session:
        return week_plan(session, WEEK)


def test_a_proposal_stands_beside_the_plan_until_it_is_taken(planned: Company) -> None:
    """S1 was given to Ben on Wednesday by hand; the search would give it back to Alma."""
    by_hand = edited(planned, Move(S1, "T2", WEDNESDAY))
    made = again(planned)
    assert stored(planned) == by_hand
    assert where(made.plan)[S1][0] == "T1"
    assert S1 in {one.visit_id for one in made.difference.shifted if one.new_technician}
    assert made.difference.after.cost_s < made.difference.before.cost_s

    with planned.writing() as session:
        assert proposal(session, WEEK).difference == made.difference
        assert take_proposal(session, WEEK, version=2, who="Invented Dora", at=AT) == 3
    assert stored(planned) == made.plan
    with planned.writing() as session:
        with pytest.raises(NotFound, match="no proposal for week"):
            proposal(session, WEEK)
        assert trail(session, WEEK).undo == "Planned again"
        undo(session, WEEK, version=3, who="", at=AT, today=TODAY)
    assert stored(planned) == by_hand


def test_a_proposal_thrown_away_leaves_no_trace(planned: Company) -> None:
    """It was only a question."""
    before = stored(planned)
    again(planned)
    with planned.writing() as session:
        drop_proposal(session, WEEK)
        with pytest.raises(NotFound):
            proposal(session, WEEK)
    assert stored(planned) == before


def test_a_proposal_made_from_an_older_plan_is_not_taken(planned: Company) -> None:
    """It would silently undo what was done by hand since."""
    again(planned)
    edited(planned, TakeOut(S2))
    with planned.writing() as session:
        assert not proposal(session, WEEK).is_current
        with pytest.raises(ChangedMeanwhile, match="changed since the proposal was made"):
            take_proposal(session, WEEK, version=2, who="", at=AT)


@pytest.mark.parametrize(
    "held",
    [
        Lock(LockKind.STOP, visit_id=S1),
        Lock(LockKind.DAY, day=WEDNESDAY),
        Lock(LockKind.ROUTE, technician_id="T2", day=WEDNESDAY),
    ],
)
def test_what_is_locked_stays_where_it_is(planned: Company, held: Lock) -> None:
    """S1 with Ben on Wednesday costs more, and a person has said that it shall stay so."""
    edited(planned, Move(S1, "T2", WEDNESDAY))
    with planned.writing() as session:
        lock(session, WEEK, held)
        assert locks(session, WEEK) == [held]
    assert where(again(planned).plan)[S1] == ("T2", WEDNESDAY)

    plan = plan_week(planned.engine, planned.settings, WEEK, today=TODAY, iterations=200)
    assert where(plan)[S1] == ("T2", WEDNESDAY)

    with planned.writing() as session:
        unlock(session, WEEK, held)
    assert where(again(planned).plan)[S1][0] == "T1"


def test_a_locked_day_gets_no_stop_more_or_less(planned: Company) -> None:
    """Its routes stay stop by stop, the order too."""
    plan = edited(planned, Move(S1, "T1", MONDAY, 1), TakeOut(S2))
    with planned.writing() as session:
        lock(session, WEEK, Lock(LockKind.DAY, day=MONDAY))
    made = again(planned).plan
    assert [r for r in made.routes if r.day == MONDAY] == [
        r for r in plan.routes if r.day == MONDAY
    ]
    assert S2 in where(made)


@pytest.mark.parametrize(
    "held",
    [
        Lock(LockKind.DAY, day=MONDAY),
        Lock(LockKind.ROUTE, technician_id="T1", day=MONDAY),
    ],
)
def test_a_lock_sends_nobody_out_who_has_no_stop(planned: Company, held: Lock) -> None:
    """Alma's Monday was emptied by hand and locked so: planning must not fill it again."""
    edited(planned, TakeOut(S1), TakeOut(S2))
    with planned.writing() as session:
        lock(session, WEEK, held)
        for day in WEEK.days[1:]:
            lock(session, WEEK, Lock(LockKind.DAY, day=day))
    assert ("T1", MONDAY) not in where(again(planned).plan).values()


def test_a_locked_stop_that_breaks_a_rule_stays_all_the_same(planned: Company) -> None:
    """Ben lacks the skill for S2's sand; the search alone could never leave it there."""
    edited(planned, Move(S2, "T2", MONDAY))
    with planned.writing() as session:
        lock(session, WEEK, Lock(LockKind.STOP, visit_id=S2))
    assert where(again(planned).plan)[S2] == ("T2", MONDAY)


def test_days_that_are_over_are_not_planned_again(planned: Company) -> None:
    """On Wednesday morning Monday and Tuesday are history."""
    before = stored(planned)
    made = again(planned, today=WEDNESDAY).plan
    assert [r for r in made.routes if r.day < WEDNESDAY] == [
        r for r in before.routes if r.day < WEDNESDAY
    ]
    assert set(where(made)) == set(where(before))


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (Lock(LockKind.DAY, day=WEEK.next.monday), "is not in week 2026-W49"),
        (Lock(LockKind.STOP, visit_id="S9/2026-W49/1"), "stands in no route"),
        (Lock(LockKind.ROUTE, technician_id="T9", day=MONDAY), "no technician 'T9'"),
    ],
)
def test_a_lock_of_nothing_is_refused(planned: Company, wrong: Lock, words: str) -> None:
    """It would look as if something were held."""
    with planned.writing() as session, pytest.raises(InvalidValue, match=words):
        lock(session, WEEK, wrong)


def test_a_lock_names_just_what_its_kind_needs() -> None:
    """A lock of a day with a technician would be a lock of a route."""
    with pytest.raises(InvalidValue, match="names one day, and nothing else"):
        Lock(LockKind.DAY, technician_id="T1", day=MONDAY)
