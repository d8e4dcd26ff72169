from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.standing.design import as_used, from_nothing, improve
from dispatch.standing.moves import Aim, Scale, best_moves, order_anew, stands_of
from dispatch.standing.rounds import Rounds, Stand
from dispatch.standing.typical import Typical
from tests.planning.weeks import MON, TUE, WED, cell, demand, on_a_line, problem
from tests.standing.cycles import cycle

MINUTE = 60
CREW = [cell("T1", MON), cell("T1", TUE), cell("T2", MON, start=1), cell("T2", TUE, start=1)]


def one_astray() -> Typical:
    """T1 lives at minute 0, T2 at 60; S2 lies at T2's door and is used to T1."""
    week = problem(
        on_a_line(0, 60, 2, 2, 60),
        CREW,
        [demand(f"S{n}", n + 2, MON, TUE, minutes=30) for n in range(3)],
    )
    return cycle(week, [("T1", 0), ("T1", 0), ("T1", 0)])


def test_the_customer_who_saves_most_moves_first() -> None:
    """T1 drives to minute 60 and back, 120 min; without S2 it is 4 min, and T2 need not drive."""
    rounds = as_used(one_astray())
    moves = best_moves(rounds, Aim(), 1)

    assert [(one.demand, one.new.cells) for one in moves] == [(2, (2,))]
    assert moves[0].before.drive_s == 120 * MINUTE
    assert moves[0].after.drive_s == 4 * MINUTE


def test_a_move_that_gains_nothing_is_not_made() -> None:
    """Nobody is asked to change for the sake of the number asked for."""
    rounds = as_used(one_astray())

    assert len(best_moves(rounds, Aim(price=0.0), 50)) == 1


def test_routes_are_not_shortened_by_moves_that_drive_more() -> None:
    """T1 has four pools of 60 min at the door, T2 lives 5 min off and has none.

    Moving one to T2 evens the hours and costs 10 min of driving: nobody may be asked to change
    because "it shortens the rounds".
    """
    week = problem(
        on_a_line(0, 5, 0, 0, 0, 0),
        CREW,
        [demand(f"S{n}", n + 2, MON, minutes=60) for n in range(4)],
    )
    even = best_moves(as_used(cycle(week, [("T1", 0)] * 4)), Aim(), 4)
    assert even[0].after.drive_s > even[0].before.drive_s

    assert best_moves(as_used(cycle(week, [("T1", 0)] * 4)), Aim(shorter=True), 4) == []
    assert len(best_moves(as_used(one_astray()), Aim(shorter=True), 4)) == 1


def test_evening_out_moves_work_at_the_price_of_driving() -> None:
    """Both technicians live at one place; T1 has four pools of 60 min, T2 none.

    A fair share is 120 min, so two pools change, and no more.
    """
    week = problem(
        on_a_line(0, 0, 0, 0, 0, 0),
        CREW,
        [demand(f"S{n}", n + 2, MON, minutes=60) for n in range(4)],
    )
    rounds = as_used(cycle(week, [("T1", 0)] * 4))
    moves = best_moves(rounds, Aim(band_s=0, price=2.0), 10)

    assert len(moves) == 2
    assert [one.after.spread_s for one in moves] == [120 * MINUTE, 0]


def test_hours_are_not_evened_out_by_moves_that_make_them_uneven() -> None:
    """T1 drives an hour each way to one pool at the door of T2, who has three pools of an hour.

    150 min against 180; with T2 it would be nothing against 210, and two hours of driving less:
    nobody may be asked to change because "it evens the technicians' hours".
    """
    week = problem(
        on_a_line(0, 60, 60, 60, 60, 60),
        CREW,
        [
            demand("S0", 2, MON, minutes=30),
            *(demand(f"S{n}", n + 2, MON, minutes=60) for n in (1, 2, 3)),
        ],
    )
    used = [("T1", 0), ("T2", 0), ("T2", 0), ("T2", 0)]
    shorter = best_moves(as_used(cycle(week, used)), Aim(band_s=0), 4)
    assert shorter[0].after.spread_s > shorter[0].before.spread_s == 30 * MINUTE

    even = best_moves(as_used(cycle(week, used)), Aim(band_s=0, evener=True), 4)
    assert all(one.after.spread_s <= one.before.spread_s for one in even)
    assert all(one.after.outside_s < one.before.outside_s for one in even)
    assert [one.demand for one in even] != [0]


@given(st.integers(0, 2**16))
@settings(max_examples=15, deadline=None)
def test_evening_out_never_widens_the_worst_week(seed: int) -> None:
    """Customers of every second week weigh on one week alone, which another one may pay for."""
    rng = np.random.default_rng(seed)
    week = problem(
        on_a_line(0, 9, *rng.integers(0, 40, 8).tolist()),
        CREW,
        [demand(f"S{n}", n + 2, MON, TUE, minutes=int(rng.integers(1, 5)) * 15) for n in range(8)],
    )
    used = [(str(rng.choice(["T1", "T2"])), int(rng.integers(0, 2))) for _ in range(8)]
    every = tuple(int(one) for one in rng.choice([1, 2], 8))
    moves = best_moves(as_used(cycle(week, used, every=every)), Aim(band_s=600, evener=True), 8)
    assert all(one.after.spread_s <= one.before.spread_s for one in moves)
    assert all(one.after.outside_s < one.before.outside_s for one in moves)


def test_what_is_stopped_searches_no_further_and_leaves_nobody_out() -> None:
    """Whoever presses 'stop' waits for the answer; each of these took seconds of its own."""
    typical = one_astray()
    going, stopped = as_used(typical), as_used(typical, lambda: True)
    assert improve(going, Scale(going, Aim())) == 1
    assert improve(stopped, Scale(stopped, Aim())) == 0
    assert best_moves(stopped, Aim(), 5, should_stop=lambda: True) == []

    asked = list[None]()

    def after_the_search() -> bool:
        asked.append(None)
        return len(asked) > 5

    new = from_nothing(typical, Aim(), iterations=2, should_stop=after_the_search)
    assert None not in new.stands


def test_new_orders_do_not_make_hours_uneven() -> None:
    """T1, who has less to do than T2, drives 80 min; by another order 60, and less still to do."""
    week = problem(
        on_a_line(0, 10, 20, 30, 0),
        [cell("T1", MON), cell("T2", MON)],
        [*(demand(f"S{n}", n + 1, MON) for n in range(3)), demand("S3", 4, MON, minutes=240)],
    )
    typical = cycle(week, [("T1", 0), ("T1", 0), ("T1", 0), ("T2", 0)])
    for aim, drive_min in ((Aim(), 60), (Aim(evener=True), 80)):
        rounds = as_used(typical)
        rounds.lay([[[(1, 0), (0, 0), (2, 0)], [(3, 0)]]])
        order_anew(rounds, aim)
        assert rounds.drive_s(0, 0) == drive_min * MINUTE


def test_what_is_locked_never_moves() -> None:
    """A lock is a promise to the customer."""
    typical = one_astray()
    locked = replace(typical.problem.demands[2], usual_technician_id="T1", technician_locked=True)
    demands = (*typical.problem.demands[:2], locked)
    rounds = as_used(replace(typical, problem=replace(typical.problem, demands=demands)))

    assert all(
        rounds.problem.cells[r].technician_id == "T1"
        for stand in stands_of(rounds.typical, 2)
        for r in stand.cells
    )
    assert best_moves(rounds, Aim(), 5) == []


def test_customers_of_every_second_week_are_dealt_out_by_turns() -> None:
    """Six pools of an hour, all with their turn in the first week: three move to the second."""
    week = problem(
        on_a_line(0, *[1] * 6),
        [cell("T1", MON)],
        [demand(f"S{n}", n + 1, MON, minutes=60) for n in range(6)],
    )
    typical = cycle(week, [("T1", 0)] * 6, every=(2,) * 6)
    rounds = as_used(typical)
    best_moves(rounds, Aim(band_s=0, price=2.0), 6)

    work_min = (rounds.work_s[:, 0] / MINUTE).tolist()
    assert work_min == [182.0, 182.0]


def test_a_full_day_takes_nobody_more() -> None:
    """T2 has 10 min of shift left of an hour; the visit of 30 min stays where it is."""
    short = cell("T2", MON, "07:00-08:00", start=1)
    week = problem(
        on_a_line(0, 60, 60, 60),
        [cell("T1", MON), short],
        [demand("S0", 2, MON, minutes=50), demand("S1", 3, MON, minutes=30)],
    )
    rounds = as_used(cycle(week, [("T2", 0), ("T1", 0)]))

    assert best_moves(rounds, Aim(), 5) == []


def test_who_is_used_to_nobody_has_no_stand() -> None:
    """A habit without a technician, or on a day nobody works, is no standing route."""
    week = problem(on_a_line(0, 1), [cell("T1", MON)], [demand("S0", 1, MON, WED)])

    assert as_used(cycle(week, [None])).stands == [None]
    assert as_used(cycle(week, [("T1", 2)])).stands == [None]
    assert as_used(cycle(week, [("T1", 0)])).stands == [Stand((0,), 0)]


@pytest.mark.parametrize("who", ["the moves", "a design"])
def test_a_locked_day_keeps_its_weeks(who: str) -> None:
    """Both pools come every second week, in the same one; the other week has no work at all.

    The lock of S0 is that of an agreed date: S1 changes its weeks, S0 stays in its own.
    """
    week = problem(
        on_a_line(0, 0, 0, 0),
        CREW[:1],
        [demand(f"S{n}", n + 2, MON, minutes=120) for n in range(2)],
    )
    usual = cycle(week, [("T1", 0)] * 2, every=(2, 2), phases=(1, 1))
    typical = replace(usual, week_locked=frozenset({0}))
    assert [one.phase for one in stands_of(typical, 0)] == [1]
    if who == "a design":
        rounds = from_nothing(typical, Aim(band_s=0, price=1.0), iterations=200)
    else:
        rounds = as_used(typical)
        best_moves(rounds, Aim(band_s=0, price=1.0), 2)
    assert [one.phase for one in rounds.stands if one] in ([1, 0], [1, 1])


@pytest.mark.parametrize("values", [{"band_s": -1}, {"price": -1.0}, {"broken": -1.0}])
def test_an_aim_below_zero_is_refused(values: dict[str, float]) -> None:
    """It would pay for making the weeks uneven."""
    with pytest.raises(InvalidValue):
        Aim(**values)  # type: ignore[arg-type]


@st.composite
def cycles(draw: st.DrawFn) -> Typical:
    """Two technicians, up to seven pools of any rhythm, used to anybody or nobody."""
    pools, seed = draw(st.integers(1, 7)), draw(st.integers(0, 10_000))
    drive = np.random.default_rng(seed).integers(60, 2400, (2 + pools, 2 + pools))
    np.fill_diagonal(drive, 0)
    demands, habits, every, phases = [], [], [], []
    for n in range(pools):
        twice = draw(st.booleans())
        days = ((MON, TUE),) if twice else (MON, TUE)
        minutes = draw(st.sampled_from([20, 90, 240]))
        demands.append(demand(f"S{n}", 2 + n, *days, minutes=minutes))
        used = draw(st.sampled_from([None, ("T1", 0), ("T2", 1), ("T1", 1)]))
        habits.append(None if twice else used)
        every.append(1 if twice else draw(st.sampled_from([1, 2, 4])))
        phases.append(draw(st.integers(0, every[-1] - 1)))
    return cycle(problem(drive.astype(np.int64), CREW, demands), habits, every=every, phases=phases)


def lost_or_double(rounds: Rounds) -> list[int]:
    """Demands whose visits are not exactly those of their stand, in any week."""
    wrong = []
    for d, stand in enumerate(rounds.stands):
        seats = rounds.seats(d, stand) if stand else set()
        found = [
            (w, r, k)
            for w, week in enumerate(rounds.orders)
            for r, order in enumerate(week)
            for one, k in order
            if one == d
        ]
        if sorted(found) != sorted(seats):
            wrong.append(d)
    return wrong


@settings(max_examples=25, deadline=None)
@given(cycles(), st.integers(1, 4))
def test_no_more_customers_move_than_asked_and_none_is_lost(typical: Typical, most: int) -> None:
    """The exact count is kept, every visit stays owed, and the curve only ever falls."""
    rounds = as_used(typical)
    before = list(rounds.stands)
    aim = Aim(band_s=600, price=1.0)
    moves = best_moves(rounds, aim, most)

    moved = [d for d, stand in enumerate(rounds.stands) if stand != before[d]]
    assert sorted(one.demand for one in moves) == moved
    assert len(moves) <= most
    assert lost_or_double(rounds) == []
    for one in moves:
        assert one.after.cost_s < one.before.cost_s
        assert one.after.broken_s <= one.before.broken_s
    for one, then in pairwise(moves):
        assert one.after == then.before
    rounds.order_anew()
    assert lost_or_double(rounds) == []


@settings(max_examples=12, deadline=None)
@given(cycles())
def test_a_design_breaks_nothing_and_gives_each_customer_one_technician(
    typical: Typical,
) -> None:
    """Whoever finds no place has none; nobody is squeezed in."""
    rounds = from_nothing(typical, Aim(), iterations=20)

    assert lost_or_double(rounds) == []
    assert Scale(rounds, Aim()).measure(rounds).broken_s == 0
    for d, stand in enumerate(rounds.stands):
        if stand is not None:
            assert len({rounds.technician_of[r] for r in stand.cells}) == 1
            days = tuple(rounds.problem.cells[r].day for r in stand.cells)
            assert days in typical.problem.demands[d].patterns


def test_a_design_fills_the_weeks_of_a_cycle_evenly() -> None:
    """Eight pools of every fourth week: two a week, 2 x 60 min and 2 min of driving."""
    week = problem(
        on_a_line(0, *[1] * 8),
        [cell("T1", MON)],
        [demand(f"S{n}", n + 1, MON, minutes=60) for n in range(8)],
    )
    rounds = from_nothing(cycle(week, [None] * 8, every=(4,) * 8), Aim(), iterations=100)

    assert (rounds.work_s[:, 0] / MINUTE).tolist() == [122.0] * 4
