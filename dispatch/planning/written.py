"""A route as it is written down: everything that follows from an order of visits in a cell."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from dispatch.planning.placed import Placed
from dispatch.planning.plan import Route, Stop
from dispatch.planning.problem import Cell, Problem
from dispatch.planning.timetable import Call, leg, times_of
from dispatch.upkeep import UpkeepDue

Legs = tuple[list[tuple[int, int]], tuple[int, int], tuple[int, int]]


def riders_of(problem: Problem, placed: Placed) -> list[UpkeepDue]:
    """The upkeep that rides on a visit."""
    return [problem.demands[placed.demand].upkeep[n] for n in placed.riders]


def call_of(problem: Problem, placed: Placed) -> Call:
    """A visit with its riders as a stop to be timed."""
    demand = problem.demands[placed.demand]
    minutes = sum(item.minutes for item in riders_of(problem, placed))
    return Call(
        demand.place,
        demand.seconds_of(placed.visit) + 60 * minutes,
        demand.windows,
        demand.chemicals_kg,
    )


def load_kg_of(problem: Problem, placed: Placed) -> float:
    """What a visit with its riders takes of the payload, in kg."""
    riders = riders_of(problem, placed)
    return problem.demands[placed.demand].load_kg + sum(item.mass_kg for item in riders)


def routes_of(problem: Problem, days: Sequence[tuple[Cell, Sequence[Placed]]]) -> tuple[Route, ...]:
    """Orders with all that follows from them.

    Whoever's week would be longer than it may be has days as short as they can be: with several
    windows at a site the cheapest day may wait for one rather than end in overtime.
    """
    routes = [_route_of(problem, cell, order) for cell, order in days]
    too_long = _too_long(problem, routes)
    return tuple(
        _route_of(problem, cell, order, shortest=True) if cell.technician_id in too_long else route
        for route, (cell, order) in zip(routes, days, strict=True)
    )


def _too_long(problem: Problem, routes: Sequence[Route]) -> frozenset[str]:
    """Ids of the technicians who would work more than their week may hold."""
    work_s = Counter[str]()
    for route in routes:
        work_s[route.technician_id] += route.work_s
    return frozenset(
        rule.technician_id
        for rule in problem.hours
        if rule.most_s is not None and rule.spent_s + work_s[rule.technician_id] > rule.most_s
    )


def _route_of(
    problem: Problem, cell: Cell, order: Sequence[Placed], *, shortest: bool = False
) -> Route:
    """An order with its legs, times, minutes and loads (kg to a tenth).

    A route that visits nobody is not driven.
    """
    calls = [call_of(problem, placed) for placed in order]
    times = times_of(cell, calls, problem.drive_s, shortest=shortest)
    legs, supply, back = _legs(problem, cell, calls, times.supply_after)
    stops = list[Stop]()
    for n, placed in enumerate(order):
        demand = problem.demands[placed.demand]
        stops.append(
            Stop(
                visit_id=demand.visit_ids[placed.visit],
                site_id=demand.site_id,
                drive_s=legs[n][0],
                drive_m=legs[n][1],
                arrive_s=times.arrive_s[n],
                start_s=times.begin_s[n],
                leave_s=times.leave_s[n],
                upkeep_ids=tuple(item.id for item in riders_of(problem, placed)),
            )
        )
    return Route(
        technician_id=cell.technician_id,
        day=cell.day,
        stops=tuple(stops),
        start_s=times.start_s,
        end_s=times.end_s,
        drive_s=sum(stop.drive_s for stop in stops) + supply[0] + back[0],
        drive_m=sum(stop.drive_m for stop in stops) + supply[1] + back[1],
        service_s=sum(call.service_s for call in calls),
        wait_s=times.wait_s,
        return_drive_s=back[0],
        return_drive_m=back[1],
        break_after=times.break_after,
        break_start_s=times.break_start_s,
        break_s=times.break_s,
        load_kg=round(sum(load_kg_of(problem, placed) for placed in order), 1),
        chemicals_kg=round(sum(call.chemicals_kg for call in calls), 1),
        overtime_s=times.overtime_s,
        supply_after=times.supply_after,
        supply_start_s=times.supply_start_s,
        supply_s=cell.supply.service_s if cell.supply and times.supply_after is not None else 0,
        supply_drive_s=supply[0],
        supply_drive_m=supply[1],
    )


def _legs(problem: Problem, cell: Cell, calls: Sequence[Call], supply_after: int | None) -> Legs:
    """Seconds and metres to each stop, to the supply stop (0 without one) and back."""
    here, found, supply = cell.start, list[tuple[int, int]](), (0, 0)
    for n in range(len(calls) + 1):
        if cell.supply is not None and n == supply_after:
            supply = leg(problem, here, cell.supply.place)
            here = cell.supply.place
        if n < len(calls):
            found.append(leg(problem, here, calls[n].place))
            here = calls[n].place
    return found, supply, leg(problem, here, cell.end) if calls else (0, 0)
