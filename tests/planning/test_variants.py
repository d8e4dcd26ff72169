"""How a site is served when much upkeep falls due there at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dispatch.planning.check import violations
from dispatch.planning.problem import Demand, Prices
from dispatch.planning.variants import MOST_VARIANTS, cell_price_s, variants_of
from tests.planning.weeks import (
    FRI,
    MON,
    THU,
    TUE,
    WED,
    cell,
    demand,
    on_a_line,
    planned,
    problem,
    upkeep,
)

ROAD = on_a_line(0, 10)


def newly_surveyed(count: int, *days: tuple[date, ...]) -> Demand:
    """A site whose whole equipment is due for a look, half of it for those with a skill."""
    items = [
        upkeep("S1", f"look-{n}", minutes=5 + n, skill="media" if n % 2 else None)
        for n in range(count)
    ]
    return demand("S1", 1, *days, upkeep=items)


def test_a_few_jobs_are_chosen_one_by_one() -> None:
    """Four jobs on a visit that may have two days: left out, or on each day with any of them."""
    site = newly_surveyed(4, (MON,), (TUE,))
    assert len(variants_of(site, Prices())) == 1 + 2 * 2**4


@pytest.mark.parametrize(
    "days", [((MON,), (TUE,), (WED,)), ((MON, THU), (TUE, FRI)), ((MON, WED, FRI),)]
)
def test_many_jobs_at_one_site_do_not_hold_up_the_week(days: tuple[tuple[date, ...], ...]) -> None:
    """Fourteen are due at once: they are bundled, and done, each on one visit."""
    site = newly_surveyed(14, *days)
    variants = variants_of(site, Prices())
    assert len(variants) <= MOST_VARIANTS
    for one in variants:
        riding = [n for own in one.riders for n in own]
        assert len(riding) == len(set(riding))
    week = problem(
        ROAD, [cell(day=day, skills=["media"]) for day in (MON, TUE, WED, THU, FRI)], [site]
    )
    plan = planned(week)
    assert not plan.put_off
    assert not violations(week, plan)


def test_a_job_that_needs_a_skill_is_bundled_with_its_like() -> None:
    """Whoever lacks the skill can still do all the others."""
    site = newly_surveyed(14, (MON,))
    week = problem(ROAD, [cell()], [site])
    plan = planned(week)
    assert {one.upkeep_id for one in plan.put_off} == {
        item.id for item in site.upkeep if item.skill
    }


def test_a_job_that_may_not_be_done_yet_waits_in_its_bundle() -> None:
    """One of twelve may be done from Tuesday on: nothing is done before its earliest day."""
    early = newly_surveyed(12, (MON, THU))
    items = (replace(early.upkeep[0], earliest_on=TUE, due_on=TUE), *early.upkeep[1:])
    week = problem(
        ROAD,
        [cell(day=day, skills=["media"]) for day in (MON, THU)],
        [replace(early, upkeep=items)],
    )
    plan = planned(week)
    assert not plan.put_off
    assert not violations(week, plan)


def test_days_off_the_rhythm_cost_the_more_the_farther_they_are() -> None:
    """Four days off a quarter of another weekday than agreed, a single day nothing."""
    one = replace(
        demand("S1", 1, (MON,), (TUE,), (WED,), (FRI,)),
        off_rhythm=((TUE, 1), (WED, 2), (FRI, 4)),
    )
    days = (MON, TUE, WED, FRI)
    prices = [cell_price_s(one, cell("T1", day), Prices()) for day in days]
    assert prices == [0, 0, 100, Prices().day_change_s // 4]
