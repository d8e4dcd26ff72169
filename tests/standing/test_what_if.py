from __future__ import annotations

import pytest

from dispatch.errors import InvalidValue, NotFound
from dispatch.places import Place
from dispatch.planning.plan import WeekPlan
from dispatch.rhythms import Rhythm
from dispatch.service_plan import ServicePlan
from dispatch.sites import Site
from dispatch.standing.what_if import Bought, Hired, Leaves, NewRhythm, cycle_plans
from dispatch.technicians import Shift, Technician
from tests.planning.weeks import MON, cell, demand, on_a_line, problem
from tests.standing.cycles import cycle

HOME = Place(33.45, -112.07)
WEEKDAYS = (*[Shift(7 * 3600, 15 * 3600)] * 5, None, None)
STAFF = [Technician("T1", "Invented Alma", WEEKDAYS, HOME, HOME)]
STAFF.append(Technician("T2", "Invented Ben", WEEKDAYS, HOME, HOME))


def site(number: int, rhythm: Rhythm = Rhythm.WEEKLY) -> Site:
    plan = ServicePlan(
        rhythm,
        30,
        usual_technician_id="T1",
        usual_weekdays=frozenset({0}),
        technician_locked=number == 0,
    )
    return Site(f"S{number}", f"Invented {number}", "", HOME, plan)


SITES = [site(n) for n in range(4)]


def test_the_customers_of_who_leaves_are_free() -> None:
    """Even one who is locked: nobody else could ever come."""
    sites, staff = Leaves("T1").applied(SITES, STAFF)

    assert [one.id for one in staff] == ["T2"]
    assert all(one.plan.usual_technician_id is None for one in sites)
    assert SITES[0].plan.usual_technician_id == "T1"  # the book itself is untouched


def test_one_who_is_hired_shares_the_customers_of_the_one_alike() -> None:
    """Without that the new one would stand idle while habits cost something."""
    sites, staff = Hired("T1").applied(SITES, STAFF)

    assert [one.id for one in staff] == ["T1", "T2", "T1-new"]
    assert [one.plan.usual_technician_id for one in sites] == ["T1", None, None, None]


@pytest.mark.parametrize("one", [Leaves("T9"), Hired("T9")])
def test_somebody_who_is_not_there_cannot_leave(one: Leaves | Hired) -> None:
    """A slip in the id would compare today with today."""
    with pytest.raises(NotFound):
        one.applied(SITES, STAFF)


def test_pools_bought_lie_within_their_radius() -> None:
    """On a sphere of 6,371 km a degree of latitude is 111.2 km."""
    bought = Bought(50, HOME, 1000)
    sites, _ = bought.applied(SITES, STAFF)
    new = sites[len(SITES) :]

    assert len(new) == 50
    assert len({one.id for one in sites}) == 54
    assert all(abs(one.place.lat - HOME.lat) * 111_195 <= 1000 for one in new)
    assert max(abs(one.place.lat - HOME.lat) * 111_195 for one in new) > 500
    assert bought.applied(SITES, STAFF) == (sites, STAFF)  # the same each time


@pytest.mark.parametrize(("count", "radius_m"), [(0, 1000), (501, 1000), (5, 1), (5, 1e6)])
def test_an_unbelievable_purchase_is_refused(count: int, radius_m: float) -> None:
    """Nobody buys 5,000 pools, and none within a metre."""
    with pytest.raises(InvalidValue):
        Bought(count, HOME, radius_m)


def test_a_winter_rhythm_deals_a_weekday_out_to_both_weeks() -> None:
    """Four customers of one Monday become two a week; who comes rarely already stays."""
    rare = site(9, Rhythm.EVERY_4_WEEKS)
    sites, _ = NewRhythm(Rhythm.EVERY_2_WEEKS).applied([*SITES, rare], STAFF)

    turns = [one.plan.anchor_on for one in sites[:4]]
    assert len(set(turns)) == 2
    assert turns[:2] == turns[2:]
    assert sites[4] == rare
    with pytest.raises(InvalidValue):
        NewRhythm(Rhythm.TWICE_A_WEEK)


def placed(plan: WeekPlan) -> list[str]:
    return sorted(stop.site_id for route in plan.routes for stop in route.stops)


def test_every_week_of_the_cycle_is_planned_with_its_own_turns() -> None:
    """S0 comes weekly, S1 in the first week and S2 in the second of two."""
    week = problem(
        on_a_line(0, 1, 2, 3),
        [cell("T1", MON)],
        [demand(f"S{n}", n + 1, MON) for n in range(3)],
    )
    typical = cycle(week, [("T1", 0)] * 3, every=(1, 2, 2), phases=(0, 0, 1))
    told: list[tuple[int, int]] = []
    plans = cycle_plans(typical, told=lambda done, whole: told.append((done, whole)))

    assert [placed(plan) for plan in plans] == [["S0", "S1"], ["S0", "S2"]]
    assert told == [(1, 2), (2, 2)]
