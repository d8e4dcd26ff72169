"""Even hours: what it costs to bring the technicians' weeks nearer to each other.

Each technician has a fair share of the week's work, in proportion to the hours of the shifts. A
*band* is how far a week may lie from it before that has a price; the narrower the band, the more
driving it takes. The curve between the two is searched from the widest band to the narrowest, each
search beginning with the best plan that any has found for its band; every plan is checked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

from dispatch.errors import InvalidValue
from dispatch.planning.check import violations
from dispatch.planning.placed import Placed
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Cell, Hours, Problem
from dispatch.planning.progress import Progress, Report, ShouldStop, never, silent
from dispatch.planning.score import cost_s
from dispatch.planning.search import Assignment, iterations_for, search
from dispatch.planning.week import write_plan
from dispatch.words import _

ROUNDS = 1.5  # times those of an ordinary plan, of each search of a curve
TRIES = 2  # searches for a band that the first does not keep
NOBODYS_SKILL = "\0"  # no skill in a table reads so
WIDEST_BAND_S = 40 * 3600  # seconds; a whole week of work (29 U.S.C. 207(a): 40 h)


@dataclass(frozen=True, slots=True)
class Evening:
    """How to even the hours of a week.

    A second that a technician's week lies outside `band_s` (seconds to either side of the fair
    share) costs `price` seconds of driving. As a cap nobody works beyond the band at all, though
    visits be left out for it.

    Raises
    ------
    InvalidValue
        On a band or a price that is not believable.
    """

    band_s: int
    price: float = 2.0
    is_cap: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.band_s <= WIDEST_BAND_S:
            raise InvalidValue(
                _(
                    "A band of {band:g} minutes cannot be kept: give 0 to {widest_band} minutes."
                ).format(band=self.band_s / 60, widest_band=WIDEST_BAND_S // 60)
            )
        if not 0 < self.price <= 100:
            raise InvalidValue(
                _(
                    "A price of {price:g} for a second outside the band is not believable: "
                    "give more than 0, to 100."
                ).format(price=self.price)
            )


@dataclass(frozen=True, slots=True)
class Share:
    """A technician's week beside the fair share, in seconds of paid work."""

    technician_id: str
    work_s: int
    fair_s: int

    @property
    def over_s(self) -> int:
        """Seconds beyond the fair share; below zero: short of it."""
        return self.work_s - self.fair_s


@dataclass(frozen=True, slots=True)
class BalancePoint:
    """One point of the curve: the plan for a band (None: hours are not looked at).

    `cost_s` is what the plan costs besides unevenness, in seconds of driving.
    """

    band_s: int | None
    plan: WeekPlan
    cost_s: int
    shares: tuple[Share, ...]

    @property
    def farthest_s(self) -> int:
        """How far the most uneven week lies from its fair share."""
        return max((abs(one.over_s) for one in self.shares), default=0)

    @property
    def spread_s(self) -> int:
        """From the week that is shortest against its fair share to the one that is longest."""
        over_s = [one.over_s for one in self.shares]
        return max(over_s, default=0) - min(over_s, default=0)


@dataclass(frozen=True, slots=True)
class _Found:
    """A plan that a search came back with, measured without its price of unevenness."""

    assignment: Assignment
    cost_s: int
    shares: tuple[Share, ...]

    def reach_s(self, is_cap: bool) -> int:
        """How far the weeks reach beyond the fair share: upwards alone where a cap is asked for."""
        return max((one.over_s if is_cap else abs(one.over_s) for one in self.shares), default=0)


def fair_shares_s(problem: Problem, work_s: float) -> dict[str, int]:
    """`work_s` seconds of work in proportion to each technician's hours of shift.

    A shift counts without its meal and its slack.
    """
    room_s: dict[str, int] = {}
    for cell in problem.cells:
        room_s[cell.technician_id] = room_s.get(cell.technician_id, 0) + _room_s(cell)
    total_s = sum(room_s.values())
    return {one: round(work_s * part / total_s) if total_s else 0 for one, part in room_s.items()}


def evened(problem: Problem, evening: Evening, fair_s: Mapping[str, int]) -> Problem:
    """The problem with a price (and perhaps a cap) on hours outside the band."""
    rules = {one.technician_id: one for one in problem.hours}
    hours = []
    for name in sorted(set(rules) | set(fair_s)):
        rule = rules.get(name, Hours(name))
        if name in fair_s:
            rule = replace(rule, target_s=fair_s[name], band_s=evening.band_s)
            if evening.is_cap:
                top_s = fair_s[name] + evening.band_s
                rule = replace(
                    rule, most_s=top_s if rule.most_s is None else min(rule.most_s, top_s)
                )
        hours.append(rule)
    prices = replace(problem.prices, uneven=evening.price)
    return replace(problem, hours=tuple(hours), prices=prices)


def balance_curve(
    problem: Problem,
    bands_s: Iterable[int],
    *,
    price: float = 2.0,
    is_cap: bool = False,
    seed: int = 1,
    iterations: int | None = None,
    runs: int = 1,
    start: Sequence[Sequence[Placed]] | None = None,
    whole: Problem | None = None,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> tuple[BalancePoint, ...]:
    """The curve between evenness and cost: the free plan, then one point for each band.

    The bands are searched from the widest to the narrowest, each search beginning with the best
    plan for its band that any search has found before it; one that is not kept is searched again.

    Along the curve the cost never falls, and the week that is farthest from its fair share (with
    a cap: farthest above it) never moves away from it: each point is the cheapest plan, found by
    any of the searches, that keeps its band, and where none does, the one that comes nearest.

    Parameters
    ----------
    problem
        The week; bands that it has already are taken off.
    bands_s
        Bands in seconds, in any order; the points come from the widest to the narrowest.
    price, is_cap
        As in `Evening`.
    iterations, runs
        Rounds of each search, by default some more than an ordinary plan has, and searches side by
        side.
    start
        The orders that the first search begins with, by default none.
    whole
        The week with what is fixed of it: all shifts make the fair shares, also those of days
        that are over. By default there is nothing else.
    progress, should_stop
        Called between chunks of rounds. A run that is stopped early gives the points it has.
    """
    rounds = curve_rounds(problem) if iterations is None else iterations
    free = replace(problem, hours=tuple(replace(one, target_s=None) for one in problem.hours))
    bands = sorted(set(bands_s), reverse=True)
    told = _Told(progress, rounds, 1 + TRIES * len(bands))
    settled = search(
        free,
        seed=seed,
        iterations=rounds,
        runs=runs,
        start=start,
        report=told,
        should_stop=should_stop,
    )
    work_s = sum(route.work_s for route in write_plan(free, settled, seed).routes)
    fair_s = fair_shares_s(whole or free, work_s + sum(one.spent_s for one in free.hours))
    pool = [_measured(free, settled, seed, fair_s)]
    weeks: dict[int, Problem] = {}
    for n, (band_s, again) in enumerate(product(bands, range(TRIES))):
        nearest = _best(pool, band_s, is_cap)
        if again and nearest.reach_s(is_cap) <= band_s:
            continue
        if should_stop():
            break
        told.points = 1 + n
        weeks[band_s] = evened(free, Evening(band_s, price, is_cap), fair_s)
        found = search(
            _with_the_same_upkeep(weeks[band_s], settled),
            seed=seed + n,
            iterations=rounds,
            runs=runs,
            start=nearest.assignment.routes,
            report=told,
            should_stop=should_stop,
        )
        pool.append(_measured(free, found, seed, fair_s))
    return (
        _point(None, free, _best(pool, None, is_cap), seed),
        *(
            _point(band_s, week, _best(pool, band_s, is_cap), seed)
            for band_s, week in weeks.items()
        ),
    )


def curve_rounds(problem: Problem) -> int:
    """Rounds of each search of a curve that suit the size of the week."""
    return round(ROUNDS * iterations_for(problem))


def _with_the_same_upkeep(week: Problem, settled: Assignment) -> Problem:
    """The problem in which the upkeep of `settled` is done, and no other.

    Putting it off saves nothing of the price of unevenness: hours would else be evened by leaving
    work undone. With a price on that alone more would be done than was shared out, and nobody could
    keep to a fair share.
    """
    done = {(one.demand, n) for route in settled.routes for one in route for n in one.riders}
    demands = tuple(
        replace(
            demand,
            upkeep=tuple(
                item if (d, n) in done else replace(item, skill=NOBODYS_SKILL)
                for n, item in enumerate(demand.upkeep)
            ),
        )
        for d, demand in enumerate(week.demands)
    )
    minutes = max((one.minutes for demand in week.demands for one in demand.upkeep), default=0)
    more_s, now = round(week.prices.uneven * 60 * minutes), week.prices
    prices = replace(
        now,
        put_off_first_s=now.put_off_first_s + more_s,
        put_off_last_s=now.put_off_last_s + more_s,
        put_off_too_late_s=now.put_off_too_late_s + more_s,
    )
    return replace(week, demands=demands, prices=prices)


def plan_evenly(
    problem: Problem,
    evening: Evening,
    *,
    seed: int = 1,
    iterations: int | None = None,
    runs: int = 1,
    start: Sequence[Sequence[Placed]] | None = None,
    whole: Problem | None = None,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> WeekPlan:
    """The plan of a problem with even hours: the last point of a curve with one band.

    It takes two searches as long as that of an ordinary plan, because the fair shares are those of
    the plan without a band, and a third where the second does not keep it. A run that is stopped
    before the second gives the plan without one. `start` and `whole` are as for the curve.
    """
    curve = balance_curve(
        problem,
        (evening.band_s,),
        price=evening.price,
        is_cap=evening.is_cap,
        seed=seed,
        iterations=iterations_for(problem) if iterations is None else iterations,
        runs=runs,
        start=start,
        whole=whole,
        progress=progress,
        should_stop=should_stop,
    )
    return curve[-1].plan


@dataclass(slots=True)
class _Told:
    """Passes on how far a row of searches is as one long run."""

    report: Report
    rounds: int
    searches: int
    points: int = 0

    def __call__(self, now: Progress) -> None:
        before = self.points * self.rounds
        self.report(
            Progress(
                before + now.iteration,
                self.searches * self.rounds,
                now.best_cost_s,
                now.unplaced,
            )
        )


def _room_s(cell: Cell) -> int:
    meal = cell.meal_in_shift
    return max(0, cell.regular_end_s - cell.shift.start_s - (60 * meal.minutes if meal else 0))


def _measured(
    free: Problem, assignment: Assignment, seed: int, fair_s: Mapping[str, int]
) -> _Found:
    plan = write_plan(free, assignment, seed)
    return _Found(assignment, cost_s(free, plan), shares_of(free, plan, fair_s))


def shares_of(problem: Problem, plan: WeekPlan, fair_s: Mapping[str, int]) -> tuple[Share, ...]:
    """Each technician's week of a plan beside the fair share, by technician."""
    work_s = {one.technician_id: one.spent_s for one in problem.hours}
    for route in plan.routes:
        work_s[route.technician_id] = work_s.get(route.technician_id, 0) + route.work_s
    return tuple(Share(one, work_s.get(one, 0), fair_s[one]) for one in sorted(fair_s))


def _best(pool: Sequence[_Found], band_s: int | None, is_cap: bool) -> _Found:
    """The cheapest plan that keeps the band; the one that comes nearest to it where none does.

    The plans that keep a band also keep every wider one, which is what makes the curve monotone.
    """
    keeping = [one for one in pool if band_s is None or one.reach_s(is_cap) <= band_s]
    if keeping:
        return min(keeping, key=lambda one: (one.cost_s, one.reach_s(is_cap)))
    return min(pool, key=lambda one: (one.reach_s(is_cap), one.cost_s))


def _point(band_s: int | None, week: Problem, found: _Found, seed: int) -> BalancePoint:
    """The point as its own problem's plan; raises AssertionError where that breaks a rule."""
    plan = write_plan(week, found.assignment, seed)
    broken = violations(week, plan)
    if broken:
        raise AssertionError(f"The search broke the rules of the week: {broken[:5]}")
    return BalancePoint(band_s, plan, found.cost_s, found.shares)
