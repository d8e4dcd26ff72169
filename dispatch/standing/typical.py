"""The typical week: what is owed when nothing special happens, and how the weeks of a cycle differ.

No holds, holidays, days off, one-off work or upkeep. Customers who are served every second or
fourth week have a *phase*: in which weeks of the cycle their turns come. All weeks of a cycle are
laid on the days of its first week, for they differ in nothing but whose turn it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cached_property

from dispatch.clock import IsoWeek
from dispatch.drive.matrix import DriveMatrix
from dispatch.planning.lay_out import build_problem
from dispatch.planning.problem import Demand, Prices, Problem
from dispatch.service_plan import ServicePlan
from dispatch.sites import Site
from dispatch.standing.values import Habit
from dispatch.technicians import Technician
from dispatch.turns import counting_day
from dispatch.visits import visits_due


@dataclass(frozen=True)
class Typical:
    """A typical cycle of weeks from `first` on.

    `problem` holds what every customer is owed in a week with a turn; its demands and `every`
    (weeks from turn to turn) and `phases` (the week of the cycle with the first turn, 0 ...) are
    in one order. `left_out` are customers whom no truck can reach, or who are not served now; of
    the demands `week_locked` the phase stays as well as the weekday.
    """

    first: IsoWeek
    problem: Problem
    every: tuple[int, ...]
    phases: tuple[int, ...]
    habits: tuple[Habit, ...]
    left_out: tuple[str, ...]
    week_locked: frozenset[int] = frozenset()

    @cached_property
    def weeks(self) -> int:
        """Weeks of the cycle: 1, 2 or 4."""
        return max(self.every, default=1)

    @cached_property
    def number_of(self) -> Mapping[str, int]:
        """Position of each customer's demand."""
        return {demand.site_id: n for n, demand in enumerate(self.problem.demands)}

    def phases_of(self, demand: int) -> Sequence[int]:
        """The phases that a customer may have."""
        if demand in self.week_locked:
            return (self.phases[demand],)
        return range(self.every[demand])

    def has_turn(self, demand: int, phase: int, week: int) -> bool:
        """Whether a customer of this phase has a turn in week `week` (0 ...) of the cycle."""
        return (week - phase) % self.every[demand] == 0


def typical_cycle(
    first: IsoWeek,
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    matrix: DriveMatrix,
    prices: Prices | None = None,
) -> Typical:
    """Lay out a typical cycle; raises nothing, for whoever cannot be served is left out.

    Parameters
    ----------
    first
        The week that it begins with; seasons are those of this week.
    matrix
        Drive times between `site:ID`, `start:TECHNICIAN` and `end:TECHNICIAN`.
    prices
        What its plans pay beside driving; the usual prices when not given.
    """
    served = [site for site in sites if site.plan.rhythm_in(first) is not None]
    working = {n for one in technicians for n, shift in enumerate(one.shifts) if shift is not None}
    due = visits_due(
        [_always_due(site, first) for site in served],
        first,
        today=first.monday,
        working_weekdays=frozenset(working) or frozenset(range(5)),
    ).due
    problem = build_problem(
        first,
        served,
        [replace(one, days_off=frozenset()) for one in technicians],
        due,
        (),
        matrix,
        prices=prices,
    )
    by_id = {site.id: site for site in served}
    chosen = [by_id[demand.site_id] for demand in problem.demands]
    every = tuple(_every(site, first) for site in chosen)
    reached = {site.id for site in chosen}
    return Typical(
        first=first,
        problem=problem,
        every=every,
        phases=tuple(_phase(site, first, n) for site, n in zip(chosen, every, strict=True)),
        habits=tuple(Habit.of(site.plan) for site in chosen),
        left_out=tuple(site.id for site in sites if site.id not in reached),
        week_locked=frozenset(n for n, site in enumerate(chosen) if _is_week_locked(site.plan)),
    )


def _always_due(site: Site, first: IsoWeek) -> Site:
    """The site with its turn in the first week, nothing missed and nothing new."""
    plan = replace(
        site.plan,
        anchor_on=first.monday,
        started_on=None,
        last_visit_on=first.monday - timedelta(days=1),
    )
    return replace(site, plan=plan)


def _every(site: Site, first: IsoWeek) -> int:
    rhythm = site.plan.rhythm_in(first)
    return 1 if rhythm is None else rhythm.every_weeks


def _phase(site: Site, first: IsoWeek, every: int) -> int:
    """The first week of the cycle with a turn; 0 where there is nothing to count from."""
    counted_from = counting_day(site.plan)
    if counted_from is None:
        return 0
    weeks = (IsoWeek.of(counted_from).monday - first.monday).days // 7
    return weeks % every


def _is_week_locked(plan: ServicePlan) -> bool:
    """Whether the customer's day is locked and its weeks are counted from one."""
    return plan.weekday_locked and counting_day(plan) is not None


def demand_free(demand: Demand) -> Demand:
    """The demand of a customer who is used to nobody; what is locked stays."""
    who = demand.usual_technician_id if demand.technician_locked else None
    return replace(demand, usual_technician_id=who, usual_weekdays=frozenset())
