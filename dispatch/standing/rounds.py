"""Standing routes of a cycle under construction: who stands where, in which order, at what price.

A customer's *stand* is one cell for each visit of a week, all of one technician, and a phase. The
price of a stand is reckoned by insertion: what the visits add to the driving of the routes as they
are ordered now. Exact times are looked at before a customer is moved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from dispatch.planning.placed import Placed
from dispatch.planning.problem import Problem
from dispatch.planning.progress import ShouldStop, never
from dispatch.planning.search import search
from dispatch.planning.timetable import Call, Times, best_place, chemicals_over_kg, times_of
from dispatch.standing.typical import Typical

Ints = npt.NDArray[np.int64]
Orders = list[list[list[tuple[int, int]]]]  # visits by week and cell, as (demand, visit)
ROUNDS_EACH = 60  # rounds of the search for the order of a week, for each of its stops


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a customer stands: a cell (by position) for each visit of a week, and the phase."""

    cells: tuple[int, ...]
    phase: int


@dataclass(frozen=True, slots=True)
class Undo:
    """What a move changed: the demand, its stand before, and the orders of (week, cell) before."""

    demand: int
    stand: Stand | None
    orders: tuple[tuple[int, int, list[tuple[int, int]]], ...]


class Rounds:
    """Routes of each week of a cycle; the only thing here that changes.

    `stands[d]` is where demand d stands, None where it has no stand. `orders[w][r]` are the
    visits of cell r in week w, as (demand, visit). `adds[w, r, d]` is what a visit of demand d
    would add to the driving of that route, `work_s[w, t]` the work of technician t in week w.
    Once `should_stop` says yes, orders are searched no longer.
    """

    def __init__(
        self,
        typical: Typical,
        stands: Sequence[Stand | None],
        should_stop: ShouldStop = never,
    ) -> None:
        self.typical = typical
        self.should_stop = should_stop
        self.problem = typical.problem
        self.weeks = typical.weeks
        self.stands = list(stands)
        cells = self.problem.cells
        self.technicians = sorted({cell.technician_id for cell in cells})
        number = {name: t for t, name in enumerate(self.technicians)}
        self.technician_of = np.array([number[cell.technician_id] for cell in cells], np.int64)
        self.places = np.array([one.place for one in self.problem.demands], np.int64)
        self.orders: Orders = []
        self.times: list[list[Times]] = []
        self.adds = np.zeros((self.weeks, len(cells), len(self.problem.demands)), np.int64)
        self.order_anew()

    def order_anew(self) -> None:
        """Search the order of every route, each visit kept in its cell."""
        old = self.orders
        self.lay([self._ordered(w, old[w] if old else None) for w in range(self.weeks)])

    def lay(self, orders: Orders) -> None:
        """Give every route this order, in which each visit keeps its cell."""
        self.orders = orders
        self.times = [
            [self._times(r, order) for r, order in enumerate(week)] for week in self.orders
        ]
        for w in range(self.weeks):
            for r in range(len(self.problem.cells)):
                self._price(w, r)

    @property
    def work_s(self) -> Ints:
        """Work by week and technician, seconds."""
        work = np.zeros((self.weeks, len(self.technicians)), np.int64)
        for w, week in enumerate(self.times):
            for r, times in enumerate(week):
                work[w, self.technician_of[r]] += times.work_s
        return work

    def drive_s(self, w: int, r: int) -> int:
        """Driving of a route."""
        return self._drive_of(r, self.orders[w][r]) if self.orders[w][r] else 0

    def has_turn(self, d: int, stand: Stand, w: int) -> bool:
        """Whether demand d has a turn in week w of the cycle."""
        return self.typical.has_turn(d, stand.phase, w)

    def seats(self, d: int, stand: Stand) -> set[tuple[int, int, int]]:
        """The (week, cell, visit) that a stand takes."""
        return {
            (w, r, k)
            for w in range(self.weeks)
            if self.has_turn(d, stand, w)
            for k, r in enumerate(stand.cells)
        }

    def saves_s(self, d: int, w: int, r: int) -> int:
        """Driving that a route saves without its visit of demand d."""
        order = self.orders[w][r]
        without = [one for one in order if one[0] != d]
        return self._drive_of(r, order) - (self._drive_of(r, without) if without else 0)

    def is_broken(self, w: int, r: int) -> bool:
        """Whether a route breaks anything: times, payload or chemicals aboard."""
        return not _is_within(self._broken(r, self.orders[w][r]), (0.0, 0.0, 0.0))

    def try_move(self, d: int, stand: Stand | None) -> Undo | None:
        """Move a demand, where no route and no week comes to break more than it does now.

        None where it cannot be moved so; else what `take_back` needs.
        """
        old = self.stands[d]
        before = self.seats(d, old) if old else set()
        after = self.seats(d, stand) if stand else set()
        changed: dict[tuple[int, int], list[tuple[int, int]]] = {}
        for w, r, _ in before - after:
            changed[w, r] = [one for one in changed.get((w, r), self.orders[w][r]) if one[0] != d]
        for w, r, k in after - before:
            order = changed.get((w, r), self.orders[w][r])
            placed = self._inserted(w, r, order, (d, k))
            if placed is None:
                return None
            changed[w, r] = placed
        undo = Undo(d, old, tuple((w, r, self.orders[w][r]) for w, r in changed))
        most_s = self.over_hours_s
        self._set(d, stand, [(w, r, order) for (w, r), order in changed.items()])
        if self.over_hours_s > most_s:
            self.take_back(undo)
            return None
        return undo

    def take_back(self, undo: Undo) -> None:
        """Undo the latest move."""
        self._set(undo.demand, undo.stand, undo.orders)

    @property
    def over_hours_s(self) -> int:
        """Seconds beyond what the technicians' weeks may hold."""
        work_s, over_s = self.work_s, 0
        for rule in self.problem.hours:
            if rule.most_s is not None and rule.technician_id in self.technicians:
                own = work_s[:, self.technicians.index(rule.technician_id)]
                over_s += int(np.maximum(own - rule.most_s, 0).sum())
        return over_s

    @property
    def broken_s(self) -> int:
        """Seconds by which all routes break windows, shifts and meals together."""
        return sum(times.broken_s for week in self.times for times in week)

    def _set(
        self,
        d: int,
        stand: Stand | None,
        orders: Sequence[tuple[int, int, list[tuple[int, int]]]],
    ) -> None:
        for w, r, order in orders:
            self.orders[w][r] = order
            self.times[w][r] = self._times(r, order)
            self._price(w, r)
        self.stands[d] = stand

    def _broken(self, r: int, order: Sequence[tuple[int, int]]) -> tuple[float, ...]:
        """What a route breaks: seconds, and kg of payload and of chemicals."""
        cell = self.problem.cells[r]
        demands = self.problem.demands
        calls = [self._call(d, k) for d, k in order]
        times = times_of(cell, calls, self.problem.drive_s)
        over_kg = sum(demands[d].load_kg for d, _ in order) - cell.payload_kg
        chemicals_kg = chemicals_over_kg(cell, calls, times) if calls else 0.0
        return float(times.broken_s), max(0.0, over_kg), chemicals_kg

    def _inserted(
        self, w: int, r: int, order: Sequence[tuple[int, int]], new: tuple[int, int]
    ) -> list[tuple[int, int]] | None:
        """The order with a visit at its cheapest place, or where it breaks least; None: nowhere."""
        cell, calls = self.problem.cells[r], [self._call(d, k) for d, k in order]
        call = self._call(*new)
        limit = self._broken(r, self.orders[w][r])
        cheapest = int(np.argmin(self._detours(r, order, np.array([call.place]))[:, 0]))
        tried = [*order[:cheapest], new, *order[cheapest:]]
        if _is_within(self._broken(r, tried), limit):
            return tried
        least, _ = best_place(cell, calls, call, self.problem.drive_s)
        tried = [*order[:least], new, *order[least:]]
        return tried if _is_within(self._broken(r, tried), limit) else None

    def _detours(self, r: int, order: Sequence[tuple[int, int]], places: Ints) -> Ints:
        """What each place would add at each position of a route; rows: positions."""
        cell, drive = self.problem.cells[r], self.problem.drive_s
        stops = [cell.start, *(self.places[d] for d, _ in order), cell.end]
        here, there = np.array(stops[:-1]), np.array(stops[1:])
        direct = drive[here, there] if order else np.zeros(1, np.int64)
        detour = drive[np.ix_(here, places)] + drive[np.ix_(places, there)].T - direct[:, None]
        return np.asarray(detour, dtype=np.int64)

    def _price(self, w: int, r: int) -> None:
        self.adds[w, r] = self._detours(r, self.orders[w][r], self.places).min(axis=0)

    def _drive_of(self, r: int, order: Sequence[tuple[int, int]]) -> int:
        cell, drive = self.problem.cells[r], self.problem.drive_s
        stops = np.array([cell.start, *(self.places[d] for d, _ in order), cell.end])
        return int(drive[stops[:-1], stops[1:]].sum())

    def _call(self, d: int, k: int) -> Call:
        one = self.problem.demands[d]
        return Call(one.place, one.seconds_of(k), one.windows, one.chemicals_kg)

    def _times(self, r: int, order: Sequence[tuple[int, int]]) -> Times:
        calls = [self._call(d, k) for d, k in order]
        return times_of(self.problem.cells[r], calls, self.problem.drive_s)

    def week_problem(self, w: int) -> Problem:
        """The problem of a week of the cycle in which every visit keeps its cell."""
        cells = self.problem.cells
        demands = [
            replace(
                self.problem.demands[d],
                kept=tuple((cells[r].technician_id, cells[r].day) for r in stand.cells),
            )
            for d, stand in enumerate(self.stands)
            if stand is not None and self.has_turn(d, stand, w)
        ]
        return replace(self.problem, demands=tuple(demands), hours=())

    def _ordered(
        self, w: int, old: Sequence[Sequence[tuple[int, int]]] | None
    ) -> list[list[tuple[int, int]]]:
        """The orders of a week; a visit that finds no room is put where it breaks least."""
        week = self.week_problem(w)
        numbers = [self.typical.number_of[one.site_id] for one in week.demands]
        here = {d: n for n, d in enumerate(numbers)}
        start = [[Placed(here[d], k, ()) for d, k in order] for order in old or ()]
        rounds = ROUNDS_EACH * len(week.demands)
        found = search(
            week, seed=1, iterations=rounds, start=start or None, should_stop=self.should_stop
        )
        orders = [[(numbers[one.demand], one.visit) for one in order] for order in found.routes]
        placed = {one for order in orders for one in order}
        for d in numbers:
            stand = self.stands[d]
            for k, r in enumerate(stand.cells if stand else ()):
                if (d, k) not in placed:
                    calls = [self._call(*one) for one in orders[r]]
                    cell, drive_s = self.problem.cells[r], self.problem.drive_s
                    at, _ = best_place(cell, calls, self._call(d, k), drive_s)
                    orders[r].insert(at, (d, k))
        return orders


def _is_within(broken: Sequence[float], limit: Sequence[float]) -> bool:
    return all(now <= most + 1e-6 for now, most in zip(broken, limit, strict=True))
