"""Repairs of a day: seconds until the options are there, and how far from a long run they are.

Days of made-up companies (see `company`) are planned, driven until the middle of the morning with
stops that take longer or shorter than planned, and upset: somebody is out, an urgent stop comes in,
a job runs over, somebody leaves at noon. `plain` puts what lost its place where it costs least,
`own` and `general` are the two engines alone, `both` is what a repair offers, and `long` the best
of both engines from several seeds for `--long` seconds, never worse than `both`.

Costs are those a repair is judged by, in hours of driving: all driving and waiting still to come of
all technicians, broken windows, overtime, what is left out, and the price of each changed order
(`RepairPrices`). The gap is that of `both` above `long`, of this whole cost, in per cent and in
minutes of driving. Seconds are those until the options stand on the page, by the clock and of CPU;
by the clock they mean something on an idle machine alone.

    python -m tests.bench.day_repair [--size 1000/25] [--seeds 3] [--long 60]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, timedelta
from uuid import UUID

import numpy as np

from dispatch.clock import format_time
from dispatch.day.engines import best_rest, combined
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.general import general_search
from dispatch.day.moments import moment_of
from dispatch.day.options import options
from dispatch.day.own_search import Found, inserted, own_search
from dispatch.day.rest import RepairPrices, field_of
from dispatch.day.situation import Situation, situation
from dispatch.day.standing import Roads
from dispatch.day.state import DayState, StopState, fold
from dispatch.day.triggers import (
    JobOverrun,
    RunningLate,
    TechnicianOut,
    Trigger,
    UrgentStop,
)
from dispatch.day.work import Revision, Work
from dispatch.planning.plan import Route, WeekPlan
from dispatch.planning.problem import Demand, Problem
from dispatch.planning.week import plan_problem
from tests.bench.company import Size, company

NOW_S = 9 * 3600 + 1800
HOUR = 3600.0
PROBE_ROUNDS = 2000  # of our own search, to measure how many a minute holds


@dataclass(frozen=True, slots=True)
class Morning:
    """A day in the middle of its morning."""

    state: DayState
    problem: Problem
    roads: Roads


def main() -> None:
    """Print one line for each repair, and what they come to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=Size.parse, default=Size(1000, 25))
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--long", type=float, default=60.0, help="seconds of the long run")
    given = parser.parse_args()
    warm_up()
    columns = ("plain", "own", "general", "both", "long", "gap %", "min")
    heads = "".join(f"{name:>8}" for name in columns)
    print(f"{'repair':<26}{'stops':>6}{'options s':>10}{'CPU s':>7}{heads}")
    gaps, seconds, cpus = [], [], []
    for seed in range(given.seeds):
        morning = mornings(given.size, seed)
        for name, trigger in upsets(morning, seed):
            gap, took_s, cpu_s = compare(f"{seed} {name}", morning, trigger, given.long)
            gaps.append(gap)
            seconds.append(took_s)
            cpus.append(cpu_s)
    print(f"largest gap {max(gaps):.2f} %, mean {np.mean(gaps):.2f} %; options in "
          f"{max(seconds):.2f} s at most, {np.median(seconds):.2f} s in the median; "
          f"CPU {max(cpus):.2f} s at most")  # fmt: skip


def compare(
    name: str, morning: Morning, trigger: Trigger, long_s: float
) -> tuple[float, float, float]:
    """Print one repair; its gap in per cent, and seconds until the options, by clock and CPU.

    Raises
    ------
    AssertionError
        When both engines together are dearer than one of them alone.
    """
    began, cpu = time.perf_counter(), time.process_time()
    one, before = upset(morning, trigger), upset(morning, RunningLate())
    found = options(one, before, seed=1)
    took_s, cpu_s = time.perf_counter() - began, time.process_time() - cpu
    f = field_of(one.rest)
    plain = inserted(f, one.rest.base, one.wanted)
    own = own_search(f, plain.orders, seed=1)
    general = general_search(f, plain.orders, seed=1, rounds=150)
    both = best_rest(f, plain.orders, seed=1)
    longest = long_run(one, plain, both, long_s)
    gap = 100 * (both.cost_s / longest.cost_s - 1)
    hours = "".join(f"{x.cost_s / HOUR:8.2f}" for x in (plain, own, general, both, longest))
    minutes = (both.cost_s - longest.cost_s) / 60
    stops = len(one.rest.works)
    print(f"{name:<26}{stops:>6}{took_s:>10.2f}{cpu_s:>7.2f}{hours}{gap:>8.2f}{minutes:>8.1f}  "
          f"{len(found)} options", flush=True)  # fmt: skip
    assert both.cost_s <= min(own.cost_s, general.cost_s)
    return gap, took_s, cpu_s


def long_run(one: Situation, plain: Found, both: Found, seconds: float) -> Found:
    """The best of both engines after about so many seconds, from several seeds."""
    f = field_of(one.rest)
    began = time.perf_counter()
    own_search(f, plain.orders, seed=1, rounds=PROBE_ROUNDS)
    rate = PROBE_ROUNDS / (time.perf_counter() - began)
    best, seed = both, 1
    end = time.perf_counter() + seconds
    while time.perf_counter() < end:
        part_s = seconds / 4
        found = best_rest(
            f, plain.orders, seed=seed, rounds=int(rate * part_s), general_rounds=int(150 * part_s)
        )
        best = combined(f, best, found)
        seed += 1
    return best


def upset(morning: Morning, trigger: Trigger) -> Situation:
    """The morning with what happened."""
    return situation(
        morning.state,
        [cell for cell in morning.problem.cells if cell.day == morning.state.day],
        morning.roads,
        NOW_S,
        UTC,
        trigger,
        RepairPrices(),
    )


def upsets(morning: Morning, seed: int) -> Iterator[tuple[str, Trigger]]:
    """What goes wrong that morning."""
    chance = np.random.default_rng(seed)
    people = sorted(morning.state.revisions)
    ids = sorted(morning.state.visits)
    who = str(chance.choice(people))
    yield f"{who} out", TechnicianOut(who, NOW_S)
    two = morning.state.visits[str(chance.choice(ids))].work
    yield "urgent stop", UrgentStop(replace(two, visit_id="urgent"))
    under_way = [k for k, v in morning.state.visits.items() if v.state is StopState.UNDER_WAY]
    yield "overrun of 90 min", JobOverrun(str(chance.choice(under_way)), 5400)
    late = str(chance.choice([one for one in people if one != who]))
    yield f"{late} out from noon", TechnicianOut(late, 12 * 3600)
    yield "runs late", RunningLate()


def mornings(size: Size, seed: int) -> Morning:
    """A Monday of a made-up company, driven until `NOW_S`."""
    problem = company(size, seed, upkeep=False)
    plan = plan_problem(problem, seed=1, iterations=3000)
    day = problem.week.monday
    roads = Roads(
        {name: n for n, name in enumerate(problem.place_ids)}, problem.drive_s, problem.drive_m
    )
    row = {f"site:{one.site_id}": one.place for one in problem.demands}
    roads = replace(roads, row={**dict(roads.row), **row})
    revisions = tuple(_revision(problem, route) for route in plan.routes if route.day == day)
    return Morning(fold(day, revisions, list(_events(plan, day, seed))), problem, roads)


def _revision(problem: Problem, route: Route) -> Revision:
    works = tuple(_work(problem.demand_of[stop.visit_id], stop.visit_id) for stop in route.stops)
    return Revision(1, 1, route, works)


def _work(demand: Demand, visit_id: str) -> Work:
    return Work(
        visit_id=visit_id,
        site_id=demand.site_id,
        service_s=demand.seconds_of(demand.visit_ids.index(visit_id)),
        windows=demand.windows,
        skills=demand.skills,
        usual_technician_id=demand.usual_technician_id,
        technician_locked=demand.technician_locked,
        load_kg=demand.load_kg,
        crew=demand.crew,
    )


def _events(plan: WeekPlan, day: date, seed: int) -> Iterator[DayEvent]:
    """What phones tell until `NOW_S`: stops last 0.85 to 1.2 times as long as planned."""
    chance = np.random.default_rng(seed)
    number = 1

    def event(kind: EventKind, at_s: float, who: str, visit: str | None) -> DayEvent:
        at = moment_of(day, at_s, UTC)
        return DayEvent(str(UUID(int=number)), day, kind, at, at + timedelta(seconds=1), who, who,
                        visit, number=number)  # fmt: skip

    yield event(EventKind.PUBLISHED, 0, plan.routes[0].technician_id, None)
    for route in plan.routes:
        if route.day != day:
            continue
        at_s = float(route.start_s)
        for stop in route.stops:
            at_s = max(at_s + stop.drive_s, stop.start_s if stop.wait_s else 0)
            if at_s > NOW_S:
                break
            number += 1
            yield event(EventKind.STARTED, at_s, route.technician_id, stop.visit_id)
            at_s += (stop.leave_s - stop.start_s) * chance.uniform(0.85, 1.2)
            if at_s > NOW_S:
                break
            number += 1
            yield event(EventKind.DONE, at_s, route.technician_id, stop.visit_id)


def warm_up() -> None:
    """Compile before anything is measured."""
    morning = mornings(Size(40, 2), 0)
    one = upset(morning, RunningLate())
    options(one, one, seed=1, rounds=10)
    print(f"mornings are upset at {format_time(NOW_S)}")


if __name__ == "__main__":
    main()
