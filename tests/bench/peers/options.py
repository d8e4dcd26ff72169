"""A week as general engines can be told it: each visit with its options, each option a task.

What they cannot express is decided for them, never against them: days of several visits are free
of each other (the weeks of `tests.bench.company` allow every combination), and upkeep of a site
with several visits may ride on the first.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import product

from dispatch.clock import DAY_S
from dispatch.planning.placed import Placed
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.planning.search import Assignment
from dispatch.planning.variants import upkeep_price_s
from dispatch.sites import ANY_TIME

UNITS_PER_KG = 10


@dataclass(frozen=True, slots=True)
class Option:
    """One way to do one visit: what it asks for, on which days, and what it costs besides driving.

    `windows` are spans in which service may begin, in seconds from Monday's midnight, in order.
    """

    placed: Placed
    place: int
    service_s: int
    load: int  # in tenths of a kg
    skills: frozenset[str]
    technician_id: str | None
    days: tuple[date, ...]
    windows: tuple[tuple[int, int], ...]
    price_s: int

    def suits(self, cell: Cell) -> bool:
        """Whether a truck-day may do it at all."""
        own = self.technician_id in (None, cell.technician_id)
        return own and cell.day in self.days and self.skills <= cell.skills


def options_of(problem: Problem) -> list[list[Option]]:
    """The options of every visit, the cheapest of each visit first."""
    return [
        sorted(_options(problem, number, visit), key=lambda one: one.price_s)
        for number, demand in enumerate(problem.demands)
        for visit in range(len(demand.visit_ids))
    ]


def _options(problem: Problem, number: int, visit: int) -> list[Option]:
    demand = problem.demands[number]
    open_days = [
        sorted({pattern[n] for pattern in demand.patterns}) for n in range(len(demand.visit_ids))
    ]
    if set(product(*open_days)) != set(demand.patterns):
        raise ValueError(f"The days of site {demand.site_id} depend on each other.")
    days = open_days[visit]
    if not demand.upkeep or visit > 0:
        return [_option(problem, demand, Placed(number, visit, ()), days, 0)]
    (item,) = demand.upkeep
    prices = problem.prices
    found = [
        _option(
            problem,
            demand,
            Placed(number, visit, ()),
            days,
            upkeep_price_s(item, None, demand, prices),
        )
    ]
    by_price: dict[int, list[date]] = {}
    for day in days:
        if item.earliest_on <= day:
            by_price.setdefault(upkeep_price_s(item, day, demand, prices), []).append(day)
    found += [
        _option(problem, demand, Placed(number, visit, (0,)), some, price)
        for price, some in by_price.items()
    ]
    return found


def _option(
    problem: Problem, demand: Demand, placed: Placed, days: list[date], price_s: int
) -> Option:
    riders = [demand.upkeep[n] for n in placed.riders]
    mass_kg = demand.load_kg + sum(item.mass_kg for item in riders)
    skills = demand.skills | {item.skill for item in riders if item.skill}
    return Option(
        placed=placed,
        place=demand.place,
        service_s=demand.service_s + 60 * sum(item.minutes for item in riders),
        load=round(mass_kg * UNITS_PER_KG),
        skills=frozenset(skills),
        technician_id=demand.usual_technician_id if demand.technician_locked else None,
        days=tuple(days),
        windows=_windows(problem, demand, days),
        price_s=price_s,
    )


def _windows(problem: Problem, demand: Demand, days: Iterable[date]) -> tuple[tuple[int, int], ...]:
    """Spans from Monday's midnight; neighbouring days that are open all day are one span."""
    spans: list[tuple[int, int]] = []
    for day in days:
        midnight = midnight_s(problem, day)
        begin, end = (midnight + one for one in demand.windows[0].pair)
        if demand.windows == (ANY_TIME,) and spans and spans[-1][1] == begin:
            begin = spans.pop()[0]
        spans.append((begin, end))
    return tuple(spans)


def midnight_s(problem: Problem, day: date) -> int:
    """Seconds from Monday's midnight to that of `day`."""
    return (day - problem.week.monday).days * DAY_S


def without_meal(cell: Cell, moment_s: int) -> int:
    """A moment (seconds from Monday's midnight) on a clock that stands still during the meal.

    An engine that knows no breaks plans on this clock: what comes after the latest time at which
    the meal may begin, comes earlier by its minutes.
    """
    meal = cell.meal_in_shift
    return moment_s - 60 * meal.minutes if meal and moment_s % DAY_S > meal.latest_s else moment_s


def assignment_of(problem: Problem, orders: Iterable[tuple[int, Iterable[Option]]]) -> Assignment:
    """An engine's answer, (cell, options in order), as an assignment that we time and check."""
    routes: list[tuple[Placed, ...]] = [() for _ in problem.cells]
    for cell, order in orders:
        routes[cell] = tuple(option.placed for option in order)
    return Assignment(tuple(routes), 0, 0)
