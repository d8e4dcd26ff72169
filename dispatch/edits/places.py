"""Where a new customer fits best: technician and weekdays, with what each costs and does.

The week at hand stays as it is; the new stop is tried at every place of every route, by the
planner's own timetable and with the planner's own reasons.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date

from dispatch.edits.draft import CellKey, Draft, draft_of_orders, orders_of
from dispatch.edits.moves import cheapest_place
from dispatch.planning.explain import Filled, Wanted, broken_in
from dispatch.planning.placed import Placed
from dispatch.planning.plan import Broken
from dispatch.planning.problem import Demand, Problem
from dispatch.planning.timetable import times_of
from dispatch.planning.week import filled_cell
from dispatch.planning.written import call_of


@dataclass(frozen=True, slots=True)
class OfferedDay:
    """One day of an offer.

    The day is paid `extra_s` longer and then lasts `work_s`; `free_s` are left of it (below 0:
    missing); the new stop comes after `position` others. `broken` are the rules it breaks there.
    """

    day: date
    position: int
    extra_s: int
    work_s: int
    free_s: int
    broken: tuple[Broken, ...]


@dataclass(frozen=True, slots=True)
class Offer:
    """A technician and the days of a pattern, for a new customer."""

    technician_id: str
    technician_name: str
    days: tuple[OfferedDay, ...]

    @property
    def extra_s(self) -> int:
        """Seconds that a week with visits is paid longer: service, drive, waiting."""
        return sum(one.extra_s for one in self.days)

    @property
    def is_open(self) -> bool:
        """Whether no rule is broken."""
        return not any(one.broken for one in self.days)

    @property
    def weekdays(self) -> frozenset[int]:
        """Its weekdays, 0 is Monday."""
        return frozenset(one.day.weekday() for one in self.days)


def with_promised(
    problem: Problem, draft: Draft, known: Collection[str]
) -> tuple[Draft, tuple[str, ...]]:
    """The draft with those whom it does not know where they were promised, and their sites.

    They were taken on since the week was planned: due in it, with a usual technician and weekdays.
    Without them the room that they were given would be offered once more. `known` are the visits
    that the plan has, with a place or without.
    """
    orders = [list(one) for one in orders_of(problem, draft)]
    number = {(cell.technician_id, cell.day): n for n, cell in enumerate(problem.cells)}
    promised = []
    for d, demand in enumerate(problem.demands):
        if not demand.usual_weekdays or any(visit in known for visit in demand.visit_ids):
            continue
        usual = [
            pattern
            for pattern in demand.patterns
            if {day.weekday() for day in pattern} <= demand.usual_weekdays
        ]
        for visit, day in enumerate(usual[0] if usual else ()):
            at = number.get((demand.usual_technician_id or "", day))
            if at is not None:
                calls = filled_cell(problem, problem.cells[at], orders[at]).calls
                new = Placed(d, visit, ())
                call = call_of(problem, new)
                position, _times = cheapest_place(problem, problem.cells[at], calls, call)
                orders[at].insert(position, new)
                promised.append(demand.site_id)
    return draft_of_orders(problem, orders), tuple(dict.fromkeys(promised))


def offers(problem: Problem, draft: Draft, site_id: str) -> tuple[Offer, ...]:
    """Every technician and pattern of days for a site that is not in the draft, the best first.

    Those that break no rule come first, then the cheaper ones.
    """
    demand = next(one for one in problem.demands if one.site_id == site_id)
    week = [
        filled_cell(problem, cell, order)
        for cell, order in zip(problem.cells, orders_of(problem, draft), strict=True)
    ]
    by_cell = {(one.cell.technician_id, one.cell.day): one for one in week}
    tried = dict[CellKey, OfferedDay]()
    found = []
    for name in dict.fromkeys(cell.technician_id for cell in problem.cells):
        for pattern in demand.patterns:
            keys = [(name, day) for day in pattern]
            if any(key not in by_cell for key in keys):
                continue
            for visit, key in enumerate(keys):
                if key not in tried:
                    tried[key] = _try(problem, demand, visit, by_cell[key], week)
            who = by_cell[keys[0]].cell.technician_name
            found.append(Offer(name, who, tuple(tried[key] for key in keys)))
    return tuple(sorted(found, key=lambda one: (not one.is_open, one.extra_s)))


def _try(
    problem: Problem, demand: Demand, visit: int, filled: Filled, week: Sequence[Filled]
) -> OfferedDay:
    cell = filled.cell
    # nobody has been promised anything yet: habits and other days are no rule here
    plain = replace(demand, technician_locked=False, kept=())
    wanted = Wanted(plain, frozenset({cell.day}), frozenset(), visit=visit)
    before = times_of(cell, filled.calls, problem.drive_s)
    position, times = cheapest_place(problem, cell, filled.calls, wanted.call)
    before_s = before.work_s if filled.calls else 0
    return OfferedDay(
        day=cell.day,
        position=position,
        extra_s=times.work_s - before_s,
        work_s=times.work_s,
        free_s=cell.regular_end_s - cell.shift.start_s - (times.end_s - times.start_s),
        broken=broken_in(wanted, filled, week, problem),
    )
