from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.edits.draft import Draft, draft_of, draft_of_orders, orders_of
from dispatch.edits.moves import Edit, Move, TakeOut, edited
from dispatch.edits.write_down import write_draft
from dispatch.planning.plan import Rule
from dispatch.planning.problem import Problem
from dispatch.planning.search import search
from dispatch.planning.week import write_plan
from tests.planning.test_invariants import weeks
from tests.planning.weeks import MON, TUE, by_hand, cell, demand, on_a_line, planned, problem


def visits(draft: Draft) -> list[str]:
    """The visits of a draft in order."""
    return [item.visit_id for items in draft.values() for item in items]


def line(*, days: tuple[date, ...] = (MON, TUE)) -> Problem:
    """Three pools 10, 20 and 30 minutes down one road, a truck on each day."""
    pools = [demand(f"S{n}", n, *days) for n in (1, 2, 3)]
    return problem(on_a_line(0, 10, 20, 30), [cell(day=day) for day in days], pools)


def test_a_visit_without_a_position_goes_where_the_day_ends_earliest() -> None:
    """S2 lies between S1 and S3: put in between it costs no drive at all."""
    week = line()
    draft = draft_of(by_hand(week, [0, 2], [1]).routes)
    moved = edited(week, draft, Move("S2/2026-W49/1", "T1", MON))
    assert visits(moved)[:3] == ["S1/2026-W49/1", "S2/2026-W49/1", "S3/2026-W49/1"]
    assert write_draft(week, moved, by_hand(week, [0])).plan.drive_s == 60 * 60


def test_a_stop_moves_within_its_route() -> None:
    """First to last: its own old place does not count."""
    week = line()
    draft = draft_of(by_hand(week, [0, 1, 2]).routes)
    moved = edited(week, draft, Move("S1/2026-W49/1", "T1", MON, 2))
    assert visits(moved) == ["S2/2026-W49/1", "S3/2026-W49/1", "S1/2026-W49/1"]


def test_a_day_that_is_not_agreed_is_told_and_written_down() -> None:
    """The dispatcher has the customer on the phone; the plan has not."""
    week = problem(on_a_line(0, 10), [cell(day=MON), cell(day=TUE)], [demand("S1", 1, MON)])
    done = write_draft(week, edited(week, {}, Move("S1/2026-W49/1", "T1", TUE)), by_hand(week, [0]))
    assert [one.rule for one in done.broken] == [Rule.DAY]
    assert done.plan.routes[0].day == TUE


def test_what_is_not_due_any_more_is_left_out_and_told() -> None:
    """A customer who went on hold after the plan was made."""
    week = line()
    draft = draft_of(by_hand(week, [0, 1, 2]).routes)
    without = problem(on_a_line(0, 10, 20, 30), week.cells, week.demands[:2])
    done = write_draft(without, draft, by_hand(week, [0]))
    assert done.left_out == ("S3/2026-W49/1",)
    assert [stop.site_id for stop in done.plan.routes[0].stops] == ["S1", "S2"]
    assert done.broken == ()


@st.composite
def edits(draw: st.DrawFn, week: Problem) -> list[Edit]:
    """Any moves and takings out that a week has room for."""
    names = sorted(week.demand_of)
    if not names or not week.cells:
        return []
    moves = st.builds(
        lambda name, cell, at: Move(name, cell.technician_id, cell.day, at),
        st.sampled_from(names),
        st.sampled_from(week.cells),
        st.none() | st.integers(0, 4),
    )
    outs = st.builds(TakeOut, st.sampled_from(names))
    return draw(st.lists(st.one_of(moves, outs), max_size=6))


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_no_edit_loses_or_doubles_a_visit_and_times_stay_the_planners(data: st.DataObject) -> None:
    """The check recomputes every time and count from the problem alone."""
    week = data.draw(weeks())
    first = planned(week, iterations=20)
    draft = draft_of(first.routes)
    for edit in data.draw(edits(week)):
        draft = edited(week, draft, edit)
    done = write_draft(week, draft, first)
    assert not [one for one in done.broken if one.rule is Rule.COUNT]
    told = Counter(visits(draft)) + Counter(one.visit_id for one in done.plan.unplaced)
    assert told == Counter([*week.demand_of, *(one.visit_id for one in week.undrivable)])


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_no_day_off_loses_or_doubles_a_visit(data: st.DataObject) -> None:
    """Whoever is given off after planning, and whatever is edited then: every visit stands once."""
    whole = data.draw(weeks())
    first = planned(whole, iterations=20)
    left = data.draw(st.lists(st.sampled_from(whole.cells), unique=True)) if whole.cells else []
    week = replace(whole, cells=tuple(one for one in whole.cells if one in left))
    draft = draft_of(first.routes)
    for edit in data.draw(edits(week)):
        draft = edited(week, draft, edit)
    done = write_draft(week, draft, first)
    told = [stop.visit_id for route in done.plan.routes for stop in route.stops]
    told += [one.visit_id for one in done.plan.unplaced]
    assert Counter(told) == Counter([*week.demand_of, *(one.visit_id for one in week.undrivable)])
    off = {key for key in draft if key not in week.cell_of and draft[key]}
    broken = {(one.technician_id, one.day) for one in done.broken if one.rule is Rule.SHIFT}
    assert broken == off


@settings(max_examples=10, deadline=None)
@given(st.data())
def test_a_draft_says_the_same_as_its_plan(data: st.DataObject) -> None:
    """There and back: the same orders, and the same plan to the second."""
    week = data.draw(weeks())
    found = search(week, seed=1, iterations=20)
    plan = write_plan(week, found, 1)
    assert write_draft(week, draft_of(plan.routes), plan).plan == plan
    assert orders_of(week, draft_of_orders(week, found.routes)) == found.routes
