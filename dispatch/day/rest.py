"""The rest of a day as a problem: whose shifts are left, which visits may still change hands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from dispatch.clock import DAY_S, IsoWeek
from dispatch.day.compose import route_of
from dispatch.day.field import Field, Ints
from dispatch.day.standing import Roads, Standing
from dispatch.day.work import Work
from dispatch.planning.explain import Filled, Wanted, why_unplaced
from dispatch.planning.plan import Unplaced, WeekPlan
from dispatch.planning.problem import (
    NO_DRIVE_S,
    Cell,
    Demand,
    Hours,
    Problem,
    limit_g,
    load_g,
)
from dispatch.planning.timetable import Call, Times, times_of

THOUSAND = 1000
MOST_NEAR = 30  # neighbours of a visit that a round of the search may reach
NOWHERE = -1
Order = tuple[int, ...]  # visits in their order, as positions in `Rest.works`


@dataclass(frozen=True, slots=True)
class RepairPrices:
    """What a repaired day pays besides driving, in seconds of driving (our own choice).

    A promise broken by half an hour weighs as much as a visit left out; so do 48 minutes beyond
    the longest day somebody may work. `threshold_s` is what a change must save for each technician
    whose remaining order it changes without need.
    """

    unplaced_s: int = 4 * 3600
    late: int = 8  # per second that service begins after its window
    over: int = 5  # per second beyond the longest day
    waiting: int = 1  # per second of waiting
    threshold_s: int = 15 * 60
    overtime: float = 0.0  # at least, per second beyond the shift; what is agreed where dearer


@dataclass(frozen=True)
class Rest:
    """What is left of a day, and the order in which it stood.

    `standings` are those who can still take something, `works` the visits that may change hands.
    `base` has for each of them the order as it stood; visits in none of them are looking for a
    place. `exempt` are technicians whose order may change at no price.
    """

    day: date
    standings: tuple[Standing, ...]
    works: tuple[Work, ...]
    base: tuple[Order, ...]
    roads: Roads
    exempt: frozenset[str] = frozenset()
    prices: RepairPrices = field(default_factory=RepairPrices)
    hours: tuple[Hours, ...] = ()

    @property
    def cells(self) -> tuple[Cell, ...]:
        """The rest of each shift."""
        return tuple(one.cell for one in self.standings)

    def calls(self, order: Sequence[int]) -> list[Call]:
        """An order as stops to be timed."""
        return [self.roads.call_of(self.works[n]) for n in order]

    def times(self, cell: int, order: Sequence[int]) -> Times:
        """True times of an order in a cell."""
        return times_of(self.standings[cell].cell, self.calls(order), self.roads.drive_s)

    def drive_s(self, cell: int, order: Sequence[int]) -> int:
        """Driving of an order in a cell, the way to the supply stop left out, in seconds."""
        return self._along(cell, order, self.roads.drive_s)

    def drive_m(self, cell: int, order: Sequence[int]) -> int:
        """The same in metres."""
        return self._along(cell, order, self.roads.drive_m)

    def _along(self, cell: int, order: Sequence[int], values: Ints) -> int:
        standing = self.standings[cell]
        if not order and not standing.is_out:
            return 0
        stops = [self.roads.place_of(self.works[n]) for n in order]
        places = [standing.cell.start, *stops, standing.cell.end]
        return sum(min(int(values[a, b]), DAY_S) for a, b in pairwise(places))

    def may(self, node: int, cell: int) -> bool:
        """Whether the technician of a cell may do a visit and can drive there and back."""
        work, truck = self.works[node], self.standings[cell].cell
        place, drive_s = self.roads.place_of(work), self.roads.drive_s
        reached = max(drive_s[truck.start, place], drive_s[place, truck.end]) < NO_DRIVE_S
        return bool(reached) and work.open_to(truck.technician_id, truck.skills, truck.crew)

    def problem(self) -> Problem:
        """The same as planning knows it, for its timetable, its check and its reasons."""
        return Problem(
            week=IsoWeek.of(self.day),
            cells=self.cells,
            demands=tuple(self._demand(work) for work in self.works),
            place_ids=tuple(sorted(self.roads.row, key=lambda one: self.roads.row[one])),
            drive_s=self.roads.drive_s,
            drive_m=self.roads.drive_m,
            hours=self.hours,
        )

    def _demand(self, work: Work) -> Demand:
        return Demand(
            site_id=work.site_id,
            visit_ids=(work.visit_id,),
            place=self.roads.place_of(work),
            patterns=((self.day,),),
            service_s=work.service_s,
            next_visit_on=self.day + timedelta(days=7),
            windows=work.windows,
            skills=work.skills,
            usual_technician_id=work.usual_technician_id,
            technician_locked=work.technician_locked,
            load_kg=work.load_kg,
            chemicals_kg=work.chemicals_kg,
            crew=work.crew,
            unwanted_technician_ids=work.unwanted_technician_ids,
            importance=work.importance,
        )


def plan_of(rest: Rest, orders: Sequence[Order]) -> WeekPlan:
    """Orders of the rest as a plan with its times, and reasons for what stands nowhere."""
    problem = rest.problem()
    routes = tuple(
        route_of(replace(one, happened=()), [rest.works[n] for n in order], None, rest.roads)
        for one, order in zip(rest.standings, orders, strict=True)
        if order
    )
    filled = [
        Filled(one.cell, tuple(rest.calls(order)), sum(rest.works[n].load_kg for n in order))
        for one, order in zip(rest.standings, orders, strict=True)
    ]
    placed = {n for order in orders for n in order}
    unplaced = []
    for n, work in enumerate(rest.works):
        if n not in placed:
            wanted = Wanted(problem.demands[n], frozenset({rest.day}), frozenset())
            reason, cells = why_unplaced(wanted, filled, problem)
            unplaced.append(Unplaced(work.visit_id, work.site_id, reason, cells))
    return WeekPlan(problem.week, routes, tuple(unplaced), (), (), 0, 0, 0, "")


def field_of(rest: Rest) -> Field:
    """The rest of a day as arrays, with the places it needs alone."""
    own = {n: (r, k) for r, order in enumerate(rest.base) for k, n in enumerate(order)}
    stops = [rest.roads.place_of(work) for work in rest.works]
    used = sorted({*stops, *(p for one in rest.cells for p in (one.start, one.end))})
    local = {place: n for n, place in enumerate(used)}
    # where a closed road leaves no way, a day's drive is more than enough
    drive_s = np.minimum(rest.roads.drive_s[np.ix_(used, used)], DAY_S)
    place = np.array([local[one] for one in stops], dtype=np.int64)
    counts = [len(work.windows) for work in rest.works]
    prices = rest.prices
    count = len(rest.works)
    return Field(
        drive_s=drive_s,
        cell=_cells(rest, local),
        place=place,
        lasts_s=_column([work.service_s for work in rest.works]),
        load_g=_column([load_g(work.load_kg) for work in rest.works]),
        chemicals_g=_column([load_g(work.chemicals_kg) for work in rest.works]),
        unplaced_s=_column([round(prices.unplaced_s * work.importance) for work in rest.works]),
        first=_column([0, *np.cumsum(counts)]),
        from_s=_column([one.start_s for work in rest.works for one in work.windows]),
        to_s=_column([one.end_s for work in rest.works for one in work.windows]),
        may=_allowed(rest),
        own_cell=_column([own.get(n, (NOWHERE, 0))[0] for n in range(count)]),
        own_position=_column([own.get(n, (NOWHERE, 0))[1] for n in range(count)]),
        near=_near(drive_s, place),
        price=_column([prices.late, prices.over, prices.waiting, prices.threshold_s]),
    )


def _column(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _cells(rest: Rest, local: Mapping[int, int]) -> Ints:
    rows = []
    for standing, base in zip(rest.standings, rest.base, strict=True):
        cell, meal = standing.cell, standing.cell.meal_in_shift
        overtime = max(cell.pay_factor, rest.prices.overtime)
        # with a supply stop on the way any amount can be used up in a day
        chemicals_kg = 1e6 if cell.supply is not None else cell.chemicals_most_kg
        # what was too much before stays where it stands; nothing may come on top
        stood = [rest.works[n] for n in base]
        load_most_g = max(limit_g(cell.payload_kg), sum(load_g(one.load_kg) for one in stood))
        used_g = sum(load_g(one.chemicals_kg) for one in stood)
        rows.append(
            (
                *(local[cell.start], local[cell.end], standing.ready_s, int(standing.is_out)),
                *(cell.regular_end_s, cell.last_end_s, round(overtime * THOUSAND)),
                *((meal.minutes * 60, meal.earliest_s, meal.latest_s) if meal else (0, 0, 0)),
                *(load_most_g, max(limit_g(chemicals_kg), used_g)),
                *(int(cell.technician_id in rest.exempt), len(base)),
            )
        )
    return np.array(rows, dtype=np.int64).reshape(-1, 14)


def _allowed(rest: Rest) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    found = np.zeros((len(rest.works), len(rest.standings)), dtype=np.bool_)
    for node in range(len(rest.works)):
        for cell in range(len(rest.standings)):
            found[node, cell] = rest.may(node, cell)
    return found


def _near(drive_s: Ints, place: Ints) -> Ints:
    between = drive_s[np.ix_(place, place)]
    both_ways = between + between.T
    np.fill_diagonal(both_ways, -1)
    return np.argsort(both_ways, axis=1, kind="stable")[:, :MOST_NEAR].astype(np.int64)
