from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.planning.balance import Evening, balance_curve, evened, fair_shares_s, plan_evenly
from dispatch.planning.check import violations
from dispatch.planning.problem import Hours, Problem
from dispatch.planning.score import cost_s
from tests.bench.company import Size, company
from tests.planning.weeks import FRI, MON, TUE, cell, demand, on_a_line, problem, upkeep

MINUTE = 60
# Six pools lie at T1's door (minute 0) and T2 lives 30 min away: alone by cost, T1 does them all.
UNEVEN = problem(
    on_a_line(0, 30, 1, 1, 1, 1, 1, 1),
    [cell("T1", MON), cell("T2", MON, start=1)],
    [demand(f"S{n}", n + 2, MON, minutes=30) for n in range(6)],
)


def test_fair_shares_are_in_proportion_to_the_shifts() -> None:
    """Eight hours on one day and eight on two: a third and two thirds of nine hours of work."""
    week = problem(on_a_line(0), [cell("T1", MON), cell("T2", MON), cell("T2", TUE)], [])

    assert fair_shares_s(week, 9 * 3600) == {"T1": 3 * 3600, "T2": 6 * 3600}


def test_slack_counts_for_nothing_in_a_fair_share() -> None:
    """What planning leaves free of a shift cannot be filled: four of eight hours are left."""
    half = replace(cell("T2", MON), slack_s=4 * 3600)
    week = problem(on_a_line(0), [cell("T1", MON), half], [])

    assert fair_shares_s(week, 3 * 3600) == {"T1": 2 * 3600, "T2": 3600}


def test_a_narrow_band_moves_work_to_whoever_has_none() -> None:
    """Freely T1 works 6 x 30 min and 2 min of driving, 182 min; a fair share is 91.

    With three pools each T1 has 92 min, and T2 drives 29 min there and back: 148 min, 57 over.
    With two pools T2 has 60 + 58 = 118, T1 122: nobody can be nearer than 31 min over 91.
    """
    free, even = balance_curve(UNEVEN, [30 * MINUTE], iterations=300)

    assert (free.band_s, free.plan.drive_s, free.farthest_s) == (None, 2 * MINUTE, 91 * MINUTE)
    assert [share.fair_s for share in even.shares] == [91 * MINUTE, 91 * MINUTE]
    assert sorted(share.work_s for share in even.shares) == [118 * MINUTE, 122 * MINUTE]
    assert even.spread_s == 4 * MINUTE
    assert even.cost_s == (2 + 58) * MINUTE


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_narrow_band_is_found_in_a_company_s_week_for_little_driving(seed: int) -> None:
    """Sixty pools, three technicians, upkeep: a quarter of an hour around the fair share.

    With the whole price of unevenness from the first round on, each week keeps the customers it
    begins with: driving and unevenness came to 18 to 58 % more than the free plan.
    """
    free, even = balance_curve(company(Size(60, 3)), [900], seed=seed, iterations=10_000)

    assert free.farthest_s > 3 * 3600
    assert even.plan.cost_s <= 1.13 * free.cost_s


def test_the_cost_of_a_point_is_without_its_price_of_unevenness() -> None:
    """Otherwise a narrow band would look dear for being narrow."""
    even = balance_curve(UNEVEN, [0], iterations=300)[-1]

    assert even.cost_s == cost_s(UNEVEN, even.plan)
    assert even.plan.cost_s > even.cost_s


def test_a_cap_is_kept_even_where_a_visit_is_left_out_for_it() -> None:
    """A cap is a promise to the technician; a price is only a wish."""
    lone = problem(
        on_a_line(0, 30, 1, 1),
        [cell("T1", MON), cell("T2", FRI, start=1)],
        [demand(f"S{n}", n + 2, MON, minutes=60) for n in range(2)],
    )
    # T1 alone may come: 122 min of work, a fair share of 61, and so 71 with the band.
    capped = plan_evenly(lone, Evening(10 * MINUTE, is_cap=True), iterations=300)
    priced = plan_evenly(lone, Evening(10 * MINUTE), iterations=300)

    assert [route.work_s for route in capped.routes] == [62 * MINUTE]
    assert len(capped.unplaced) == 1
    assert not priced.unplaced


def test_hours_are_not_evened_by_putting_upkeep_off() -> None:
    """Alone with the media skill, T1 has 30 min of visits and 2 h of sand to change.

    Putting it off costs 900 s and would bring the week 7,200 s nearer to the fair share.
    """
    sand = upkeep("S0", minutes=120, latest=FRI + timedelta(days=60))
    week = problem(
        on_a_line(0, 0, 1, 1),
        [cell("T1", MON, skills=["media"]), cell("T2", MON, start=1)],
        [demand("S0", 2, MON, upkeep=[sand]), demand("S1", 3, MON)],
    )
    even = plan_evenly(week, Evening(0), iterations=100)

    assert not even.put_off
    assert {r.technician_id: len(r.stops) for r in even.routes} == {"T1": 1, "T2": 1}


def test_an_even_week_does_no_more_work_than_was_shared_out() -> None:
    """All four pools are used to T1; T2 alone can change the sand, which may wait for 900 s.

    Another technician costs 1,800 s: T1 goes to all, 2 h and some driving, and the sand waits. A
    fair share is half of that, two pools each. If putting off cost what evenness is worth, T2
    would change the sand at one pool, and both would work half an hour more than a fair share.
    """
    sand = upkeep("S0", minutes=60, latest=FRI + timedelta(days=60))
    week = problem(
        on_a_line(0, 1, 1, 1, 1),
        [cell("T1", MON), cell("T2", MON, skills=["media"])],
        [demand(f"S{n}", 1 + n, usual="T1", upkeep=[sand] if n == 0 else ()) for n in range(4)],
    )
    free, even = balance_curve(week, [5 * MINUTE], iterations=200)

    assert [one.upkeep_id for one in free.plan.put_off] == [sand.id]
    assert [one.upkeep_id for one in even.plan.put_off] == [sand.id]
    assert {r.technician_id: len(r.stops) for r in even.plan.routes} == {"T1": 2, "T2": 2}
    assert even.farthest_s <= 5 * MINUTE


def test_a_rule_of_the_week_stays_beside_the_band() -> None:
    """A technician's overtime is not forgotten because hours are evened."""
    ruled = replace(UNEVEN, hours=(Hours("T1", regular_s=3600, most_s=7200, pay_factor=2.0),))
    week = evened(ruled, Evening(600), {"T1": 5000, "T2": 5000})

    assert week.hours[0] == Hours("T1", 3600, 7200, 2.0, target_s=5000, band_s=600)
    assert week.hours[1] == Hours("T2", target_s=5000, band_s=600)


def test_a_run_that_is_stopped_gives_the_points_it_has() -> None:
    """Whoever stops a long curve keeps what it found."""
    asked = iter([False] * 3 + [True] * 100)
    points = balance_curve(UNEVEN, [0, 600, 1200], iterations=50, should_stop=lambda: next(asked))

    assert points
    assert points[0].band_s is None
    assert not points[0].plan.unplaced


@pytest.mark.parametrize(("band_s", "price"), [(-1, 1.0), (10**7, 1.0), (60, 0.0), (60, 1000.0)])
def test_an_unbelievable_band_or_price_is_refused(band_s: int, price: float) -> None:
    """A slip of the pen would be searched for minutes and found nowhere."""
    with pytest.raises(InvalidValue):
        Evening(band_s, price)


@st.composite
def companies(draw: st.DrawFn) -> Problem:
    """Two or three technicians, up to eight pools anywhere."""
    crew, pools = draw(st.integers(2, 3)), draw(st.integers(0, 8))
    seed = draw(st.integers(0, 10_000))
    drive = np.random.default_rng(seed).integers(0, 2400, (crew + pools, crew + pools))
    np.fill_diagonal(drive, 0)
    cells = [cell(f"T{t}", day, start=t) for t in range(crew) for day in (MON, TUE)]
    return problem(
        drive.astype(np.int64),
        cells,
        [
            demand(f"S{n}", crew + n, MON, TUE, minutes=draw(st.sampled_from([20, 60, 120])))
            for n in range(pools)
        ],
    )


@settings(max_examples=25, deadline=None)
@given(companies(), st.booleans())
def test_the_curve_is_monotone_and_every_point_a_plan(week: Problem, is_cap: bool) -> None:
    """An owner who asks for more evenness never gets a cheaper or a less even plan."""
    points = balance_curve(week, [7200, 3600, 1200, 0], is_cap=is_cap, iterations=40)

    assert [point.band_s for point in points] == [None, 7200, 3600, 1200, 0]
    reach = [
        max((one.over_s if is_cap else abs(one.over_s) for one in point.shares), default=0)
        for point in points
    ]
    for (wide, narrow), (far, near) in zip(pairwise(points), pairwise(reach), strict=True):
        assert narrow.cost_s >= wide.cost_s
        assert near <= far
    for point in points:
        # cost and digest are those of the week with the band
        assert {one.detail.split()[0] for one in violations(week, point.plan)} <= {
            "cost_s",
            "problem_digest",
        }
        assert point.cost_s == cost_s(week, point.plan)
