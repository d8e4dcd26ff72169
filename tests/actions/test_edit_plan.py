from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dispatch.actions.edit_plan import Edited, broken_sentences, edit_plan
from dispatch.actions.plan_versions import history, plan_version, redo, trail, undo
from dispatch.actions.read_plan import plan_upkeep, week_plan
from dispatch.actions.week_desk import lock
from dispatch.edits.locks import Lock, LockKind
from dispatch.edits.moves import Carry, Edit, Move, TakeOut
from dispatch.errors import ChangedMeanwhile, InvalidValue, NotFound, WeekInPast
from dispatch.planning.plan import Rule, WeekPlan
from dispatch.store.book import read_sites, write_sites
from tests.planning.weeks import where
from tests.town import MONDAY, TODAY, TUESDAY, WEDNESDAY, WEEK, Company

AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
S1, S2 = "S1/2026-W49/1", "S2/2026-W49/1"


def edit(company: Company, *edits: Edit, version: int, save: bool = True) -> Edited:
    """An edit by an invented dispatcher."""
    return edit_plan(
        company.engine, company.settings, WEEK, edits,
        version=version, who="Invented Dora", at=AT, today=TODAY, save=save,
    )  # fmt: skip


def stored(company: Company) -> WeekPlan:
    """The plan that the database has."""
    with company.reading() as session:
        return week_plan(session, WEEK)


def step(company: Company, deed: object, version: int) -> int:
    """Undo or redo."""
    assert deed in (undo, redo)
    go = undo if deed is undo else redo
    with company.writing() as session:
        return go(session, WEEK, version=version, who="Invented Dora", at=AT, today=TODAY)


def test_a_moved_stop_gets_the_times_of_its_new_place(planned: Company) -> None:
    """S1 to Ben, alone on Wednesday: the drive from f and back, 30 min there, nothing else."""
    done = edit(planned, Move(S1, "T2", WEDNESDAY), version=1)

    assert where(done.plan)[S1] == ("T2", WEDNESDAY)
    assert stored(planned) == done.plan
    (route,) = [r for r in done.plan.routes if any(s.visit_id == S1 for s in r.stops)]
    mine = next(stop for stop in route.stops if stop.visit_id == S1)
    assert mine.leave_s - mine.start_s == 30 * 60
    assert route.end_s - route.start_s - route.break_s == route.drive_s + route.service_s + (
        route.wait_s
    )
    assert done.broken == ()
    assert done.version == 2
    assert done.difference.moved[0].new_technician


def test_a_broken_rule_is_told_with_its_amount_and_saved_all_the_same(planned: Company) -> None:
    """S2's sand needs the skill that Ben lacks; a person may have a reason that nobody wrote."""
    done = edit(planned, Move(S2, "T2", MONDAY), version=1)

    assert {one.rule for one in done.broken} == {Rule.SKILL}
    assert done.sentences == done.new
    assert "Invented Two: Invented Ben lacks the skill 'media' (Mon 30)." in done.new
    with planned.reading() as session:
        assert broken_sentences(session, WEEK) == list(done.new)
    assert stored(planned).cost_s < 10**9


def test_trying_an_edit_changes_nothing(planned: Company) -> None:
    """A dispatcher asks 'what if' more often than he moves anybody."""
    before = stored(planned)
    tried = edit(planned, TakeOut(S1), version=1, save=False)
    assert [one.visit_id for one in tried.plan.unplaced] == [S1]
    assert stored(planned) == before
    assert tried.version == 1


def test_what_is_taken_out_is_unplaced_with_a_reason(planned: Company) -> None:
    """A visit never vanishes; its upkeep is put off."""
    done = edit(planned, TakeOut(S2), version=1)
    (one,) = done.plan.unplaced
    assert (one.visit_id, one.site_id) == (S2, "S2")
    assert "still has room" in one.reason
    assert [item.upkeep_id for item in done.plan.put_off]


@pytest.mark.parametrize(
    ("weekdays", "words"),
    [
        # Alma's Monday is kept; on Thursday planning may send her
        ({0, 3}, "Invented Alma on Thursday still has room: plan again with more time."),
        (
            {0},
            "Invented Alma on Monday has room, but that route is locked, and planning leaves it "
            "alone: move the visit there by hand, or unlock the route and plan again.",
        ),
    ],
)
def test_room_that_planning_must_not_take_is_no_reason_to_plan_again(
    planned: Company, weekdays: set[int], words: str
) -> None:
    """S2 wants Alma alone here; planning again would never bring it back to a route it keeps."""
    with planned.writing() as session:
        site = next(one for one in read_sites(session) if one.id == "S2")
        to_alma = replace(site.plan, technician_locked=True, allowed_weekdays=frozenset(weekdays))
        write_sites(session, [replace(site, plan=to_alma)])
        lock(session, WEEK, Lock(LockKind.ROUTE, None, "T1", MONDAY))
    (one,) = edit(planned, TakeOut(S2), version=1).plan.unplaced
    assert one.reason == words


def test_upkeep_is_put_off_and_put_on_again_by_hand(planned: Company) -> None:
    """The sand of S2 takes 2 hours or more of a visit of 45 minutes."""
    before = stored(planned)
    (upkeep_id,) = {u for r in before.routes for s in r.stops for u in s.upkeep_ids}
    off = edit(planned, Carry(upkeep_id, None), version=1)
    assert [item.upkeep_id for item in off.plan.put_off] == [upkeep_id]
    on = edit(planned, Carry(upkeep_id, S2), version=2)
    assert where(on.plan) == where(before)
    assert on.plan.put_off == ()
    with planned.reading() as session:
        assert upkeep_id in plan_upkeep(session, WEEK)


def test_an_edit_of_a_plan_that_moved_is_told_who_moved_it(planned: Company) -> None:
    """Two dispatchers at two screens must not undo each other unawares."""
    edit(planned, Move(S1, "T2", WEDNESDAY), version=1)
    with pytest.raises(ChangedMeanwhile, match=r"version 2, .*Invented Dora: Invented One to Inv"):
        edit(planned, TakeOut(S2), version=1)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (Move(S1, "T1", TUESDAY), "Invented Alma has no truck out on Tuesday"),
        (Move("S9/2026-W49/1", "T1", MONDAY), "'S9/2026-W49/1' cannot be moved"),
        (Carry("nothing", S1), "no upkeep 'nothing'"),
    ],
)
def test_what_cannot_be_written_down_is_refused_in_words(
    planned: Company, wrong: Edit, words: str
) -> None:
    """And the steps before it in the same call go with it: nothing is saved half."""
    before = stored(planned)
    with pytest.raises(InvalidValue, match=words):
        edit(planned, TakeOut(S2), wrong, version=1)
    assert stored(planned) == before


def test_undo_and_redo_walk_through_the_steps_and_back(planned: Company) -> None:
    """Three plans, back to the first, forward to the last, a new step forgets what was undone."""
    first = stored(planned)
    second = edit(planned, Move(S1, "T2", WEDNESDAY), version=1).plan
    third = edit(planned, TakeOut(S2), version=2).plan

    assert step(planned, undo, 3) == 4
    assert stored(planned) == second
    assert step(planned, undo, 4) == 5
    assert stored(planned) == first
    with pytest.raises(NotFound, match="nothing to undo"):
        step(planned, undo, 5)
    assert step(planned, redo, 5) == 6
    assert stored(planned) == second
    assert step(planned, redo, 6) == 7
    assert stored(planned) == third
    with planned.reading() as session:
        assert trail(session, WEEK).undo == "Invented Two taken out"
        assert trail(session, WEEK).redo == ""
        assert [one.what for one in history(session, WEEK)][3:5] == [
            "Undone: Invented Two taken out",
            "Undone: Invented One to Invented Ben, Wed 2",
        ]
        assert plan_version(session, WEEK, 1) == first
    step(planned, undo, 7)
    edit(planned, Move(S1, "T2", MONDAY), version=8)
    with pytest.raises(NotFound, match="nothing to redo"):
        step(planned, redo, 9)


def test_a_plan_from_before_versions_is_edited_and_comes_back(planned: Company) -> None:
    """An old database has plans and no versions of them."""
    with planned.writing() as session:
        session.connection().exec_driver_sql("DELETE FROM plan_version")
    before = stored(planned)
    assert edit(planned, TakeOut(S1), version=0).version == 2
    step(planned, undo, 2)
    assert stored(planned) == before


def test_days_that_are_over_stay_word_for_word(planned: Company) -> None:
    """On Wednesday nobody can move a visit of Monday, and Monday's route keeps its times."""
    monday = [route for route in stored(planned).routes if route.day == MONDAY]
    assert monday
    late = date(2026, 12, 2)
    moved = next(
        stop.visit_id
        for route in stored(planned).routes
        if route.day >= late
        for stop in route.stops
    )
    done = edit_plan(
        planned.engine, planned.settings, WEEK, [TakeOut(moved)],
        version=1, who="", at=AT, today=late,
    )  # fmt: skip
    assert [route for route in done.plan.routes if route.day == MONDAY] == monday
    with pytest.raises(InvalidValue, match="not due in this week, or its day is over"):
        edit_plan(
            planned.engine, planned.settings, WEEK,
            [TakeOut(monday[0].stops[0].visit_id)],
            version=2, who="", at=AT, today=late,
        )  # fmt: skip


def test_a_week_that_is_over_is_not_edited(planned: Company) -> None:
    """What was driven is history."""
    with pytest.raises(WeekInPast):
        edit_plan(
            planned.engine, planned.settings, WEEK, [TakeOut(S1)],
            version=1, who="", at=AT, today=WEEK.next.monday,
        )  # fmt: skip


steps = st.one_of(
    st.builds(
        Move,
        st.sampled_from([S1, S2, "S3/2026-W49/1", "S3/2026-W49/2"]),
        st.just("T2"),
        st.sampled_from(WEEK.days[:5]),
        st.none() | st.integers(0, 3),
    ),
    st.builds(TakeOut, st.sampled_from([S1, S2, "S3/2026-W49/1"])),
)


@settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(steps, min_size=1, max_size=4))
def test_undoing_every_step_gives_every_plan_back(planned: Company, made: list[Edit]) -> None:
    """Whatever was done, undo brings the plan back to the last comma."""
    with planned.reading() as session:
        version = max(1, trail(session, WEEK).version)
    plans = []
    for one in made:
        plans.append(replace(stored(planned)))
        version = edit(planned, one, version=version).version
    for plan in reversed(plans):
        version = step(planned, undo, version)
        assert stored(planned) == plan
