"""Which customers to move, ranked: what each move gains in driving and in evenness.

One customer after the other, always the move that gains most, measured on the routes as they are
after the moves before it. A move that would break more than is broken now is not made.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from dispatch.errors import InvalidValue
from dispatch.planning.balance import fair_shares_s
from dispatch.planning.problem import NO_DRIVE_S
from dispatch.planning.progress import Progress, Report, ShouldStop, never, silent
from dispatch.planning.variants import NEVER, cell_price_s
from dispatch.standing.rounds import Ints, Rounds, Stand
from dispatch.standing.typical import Typical
from dispatch.words import _

LEAST_GAIN_S = 60  # seconds of driving a week below which nobody is asked to change
TRIED_EACH = 8  # best stands of a customer that are looked at exactly
TRIED_IN_ALL = 400  # looked at exactly before a search for one more move gives up


@dataclass(frozen=True, slots=True)
class Aim:
    """What moves are for: less driving, and hours nearer to the fair shares.

    A second that a technician's week lies further than `band_s` from the fair share is worth
    `price` seconds of driving, one that a route breaks `broken`. Where routes are to get `shorter`,
    a move must save driving whatever else it gains; where hours are to get `evener`, it must lessen
    what lies outside the band, and may not widen the spread of the worst week.
    """

    band_s: int = 3600
    price: float = 0.5
    broken: float = 10.0
    shorter: bool = False
    evener: bool = False

    def __post_init__(self) -> None:
        if self.band_s < 0 or self.price < 0 or self.broken < 0:
            raise InvalidValue(
                _(
                    "A band of {band} s and prices of {price:g} and {broken:g} cannot be aimed "
                    "at: give none below zero."
                ).format(band=self.band_s, price=self.price, broken=self.broken)
            )


@dataclass(frozen=True, slots=True)
class Measure:
    """How a cycle stands, a week on average: driving, and the worst week's evenness, in seconds.

    `spread_s` goes from the technician who is shortest against the fair share to the one who is
    longest; `outside_s` is how far all weeks together lie outside the band.
    """

    drive_s: float
    spread_s: int
    outside_s: float
    broken_s: float
    cost_s: float


@dataclass(frozen=True, slots=True)
class Move:
    """One customer's move: from which stand to which, and how all stands before and after it."""

    demand: int
    old: Stand
    new: Stand
    before: Measure
    after: Measure


class Scale:
    """Measures the routes of a cycle against the fair shares that they have at the beginning."""

    def __init__(self, rounds: Rounds, aim: Aim) -> None:
        self.aim = aim
        mean_s = float(rounds.work_s.sum()) / rounds.weeks
        fair = fair_shares_s(rounds.problem, mean_s)
        self.fair_s = np.array([fair[one] for one in rounds.technicians], np.int64)

    def outside_s(self, work_s: Ints, technician: Ints | slice = slice(None)) -> Ints:
        """Seconds outside the band; the last axis of `work_s` goes over the technicians named."""
        off = np.abs(work_s - self.fair_s[technician]) - self.aim.band_s
        return np.asarray(np.maximum(off, 0), dtype=np.int64)

    def measure(self, rounds: Rounds) -> Measure:
        """How the routes stand now."""
        work_s = rounds.work_s
        drive_s = sum(
            rounds.drive_s(w, r) for w, week in enumerate(rounds.orders) for r in range(len(week))
        )
        over_s = work_s - self.fair_s
        outside_s = int(self.outside_s(work_s).sum())
        broken_s = rounds.broken_s + rounds.over_hours_s
        cost_s = drive_s + self.aim.price * outside_s + self.aim.broken * broken_s
        return Measure(
            drive_s / rounds.weeks,
            int((over_s.max(axis=1) - over_s.min(axis=1)).max()) if over_s.size else 0,
            outside_s / rounds.weeks,
            broken_s / rounds.weeks,
            cost_s / rounds.weeks,
        )


def stands_of(typical: Typical, d: int) -> list[Stand]:
    """Every stand that a customer may have: technician, days and phase, as agreed."""
    problem = typical.problem
    demand = problem.demands[d]
    at = {(cell.technician_id, cell.day): r for r, cell in enumerate(problem.cells)}
    open_cells = set()
    for r, cell in enumerate(problem.cells):
        there = problem.drive_s[cell.start, demand.place]
        back = problem.drive_s[demand.place, cell.end]
        if (
            cell_price_s(demand, cell, problem.prices) < NEVER
            and demand.skills <= cell.skills
            and demand.load_kg <= cell.payload_kg
            and max(there, back) < NO_DRIVE_S
        ):
            open_cells.add(r)
    found = []
    for who in sorted({cell.technician_id for cell in problem.cells}):
        for pattern in demand.open_patterns:
            cells = tuple(at.get((who, day), -1) for day in pattern)
            if all(r in open_cells for r in cells):
                found += [Stand(cells, phase) for phase in typical.phases_of(d)]
    return found


def gains_s(
    rounds: Rounds, scale: Scale, d: int, stands: Sequence[Stand]
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """What each stand would gain a customer's cycle, in seconds of driving, by insertion."""
    old = rounds.stands[d]
    demand, weeks, work_s = rounds.problem.demands[d], rounds.weeks, rounds.work_s
    service_s = [demand.seconds_of(k) for k in range(len(demand.visit_ids))]
    adds = np.repeat(rounds.adds[:, :, d][:, :, None], len(service_s), axis=2)
    relief = saved_s = 0.0
    left_s = work_s.copy()
    for w, r, k in rounds.seats(d, old) if old else ():
        saves = rounds.saves_s(d, w, r)
        adds[w, r, k] = saves
        saved_s += saves
        left_s[w, rounds.technician_of[r]] -= saves + service_s[k]
        relief += min(rounds.times[w][r].broken_s, saves + service_s[k])
    cells = np.array([stand.cells for stand in stands])
    turns = np.array(
        [[rounds.has_turn(d, stand, w) for w in range(weeks)] for stand in stands], np.int64
    )
    per_visit = np.stack([adds[:, cells[:, k], k] for k in range(len(service_s))], axis=2)
    driving = per_visit.sum(axis=2).T * turns  # stands x weeks
    who = rounds.technician_of[cells[:, 0]]
    base = left_s[:, who].T
    fair = scale.fair_s[who][:, None]
    band_s = scale.aim.band_s
    more = driving + turns * sum(service_s)
    before = np.maximum(np.abs(base - fair) - band_s, 0)
    now = np.maximum(np.abs(base + more - fair) - band_s, 0)
    freed = float((scale.outside_s(work_s) - scale.outside_s(left_s)).sum())
    gain = saved_s - driving.sum(axis=1)
    evened = freed - (now - before).sum(axis=1)
    gain = gain + scale.aim.price * evened
    gain = gain + scale.aim.broken * relief
    if scale.aim.evener:
        gain = np.minimum(gain, evened)
    if scale.aim.shorter:
        gain = np.minimum(gain, saved_s - driving.sum(axis=1))
    return np.asarray(gain, dtype=np.float64)


def best_moves(
    rounds: Rounds,
    aim: Aim,
    most: int,
    *,
    movable: Collection[int] | None = None,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> list[Move]:
    """Move up to `most` customers, each once, and say what every move gained.

    The routes are left as they are after the moves. Fewer are moved where no further move gains
    as much as a minute of driving a week.

    Parameters
    ----------
    movable
        Demands that may be moved; all that have a stand and no lock on technician and day when
        not given.
    """
    scale = Scale(rounds, aim)
    open_to = range(len(rounds.stands)) if movable is None else movable
    choices = {d: stands_of(rounds.typical, d) for d in open_to if rounds.stands[d] is not None}
    moves = list[Move]()
    measure = scale.measure(rounds)
    while len(moves) < most and not should_stop():
        move = _next_move(rounds, scale, choices, measure, should_stop)
        if move is None:
            break
        moves.append(move)
        measure = move.after
        del choices[move.demand]
        progress(Progress(len(moves), most, round(measure.cost_s), 0))
    return moves


def order_anew(rounds: Rounds, aim: Aim) -> None:
    """Search the order of every route after moves, where that does not make the hours uneven."""
    scale, orders = Scale(rounds, aim), rounds.orders
    spread_s = scale.measure(rounds).spread_s
    rounds.order_anew()
    if aim.evener and scale.measure(rounds).spread_s > spread_s:
        rounds.lay(orders)


def _next_move(
    rounds: Rounds,
    scale: Scale,
    choices: dict[int, list[Stand]],
    before: Measure,
    should_stop: ShouldStop,
) -> Move | None:
    tries = list[tuple[float, int, Stand]]()
    for d, stands in choices.items():
        if should_stop():
            return None
        if stands:
            gains = gains_s(rounds, scale, d, stands)
            for n in np.argsort(-gains, kind="stable")[:TRIED_EACH]:
                if stands[n] != rounds.stands[d] and gains[n] > LEAST_GAIN_S * rounds.weeks:
                    tries.append((float(gains[n]), d, stands[n]))
    tries.sort(key=lambda one: (-one[0], one[1]))
    for _rest, d, stand in tries[:TRIED_IN_ALL]:
        if should_stop():
            return None
        move = try_one(rounds, scale, d, stand, before)
        if move is not None:
            return move
    return None


def try_one(rounds: Rounds, scale: Scale, d: int, stand: Stand, before: Measure) -> Move | None:
    """Move a customer where that truly gains; None, and nothing moved, where it does not."""
    old = rounds.stands[d]
    undo = None if old is None else rounds.try_move(d, stand)
    if old is None or undo is None:
        return None
    after = scale.measure(rounds)
    gains = [before.cost_s - after.cost_s]
    if scale.aim.shorter:
        gains.append(before.drive_s - after.drive_s)
    if scale.aim.evener:
        gains.append(before.outside_s - after.outside_s)
    widens = scale.aim.evener and after.spread_s > before.spread_s
    if widens or min(gains) < LEAST_GAIN_S:
        rounds.take_back(undo)
        return None
    return Move(d, old, stand, before, after)
