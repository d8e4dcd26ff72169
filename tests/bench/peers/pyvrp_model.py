"""PyVRP: the week as one long line of time, every truck-day a vehicle type of its own.

Every option and span of time of a visit is a client; those of one visit exclude each other, and
their prizes make leaving them out, or choosing one, cost what it costs us. A technician's matrix
forbids places by a drive beyond the week. Waiting is priced through the duration of the route. The
engine knows no breaks: it plans on a clock that stands still during meals.
"""

from __future__ import annotations

import time
from collections.abc import Iterable

import numpy as np
import pyvrp

from dispatch.clock import DAY_S
from dispatch.planning.problem import Cell, Problem, Seconds
from dispatch.planning.search import Assignment
from tests.bench.peers.options import (
    UNITS_PER_KG,
    Option,
    assignment_of,
    midnight_s,
    options_of,
    without_meal,
)

FORBIDDEN_S = 10 * DAY_S
Place = tuple[int, frozenset[str], str | None]  # row of the matrix, skills, technician


class CpuStop:
    """Stops when the process has used so many CPU seconds."""

    def __init__(self, seconds: float) -> None:
        self._end = time.process_time() + seconds

    def __call__(self, best_cost: float) -> bool:
        """Whether it is time."""
        return time.process_time() >= self._end


def solve(problem: Problem, seconds: float, seed: int) -> Assignment:
    """The best answer after so many CPU seconds, the building of the model included."""
    stop = CpuStop(seconds)
    visits = options_of(problem)
    places = _places(problem, visits)
    row = {place: n for n, place in enumerate(places)}
    clients, groups, option_of = _clients(problem, visits, row)
    profiles = {_profile(cell): cell for cell in problem.cells}
    number = {key: n for n, key in enumerate(profiles)}
    matrices = [_matrix(problem, places, cell) for cell in profiles.values()]
    ends = sorted({place for cell in problem.cells for place in (cell.start, cell.end)})
    depot = {place: n for n, place in enumerate(ends)}
    data = pyvrp.ProblemData(
        [pyvrp.Location(0, 0) for _ in places],
        clients,
        [pyvrp.Depot(row[place, frozenset(), None]) for place in ends],
        [_vehicle(problem, cell, depot, number[_profile(cell)]) for cell in problem.cells],
        matrices,
        matrices,
        groups,
    )
    result = pyvrp.solve(data, stop=stop, seed=seed, collect_stats=False, display=False)
    return assignment_of(problem, _orders(result.best, option_of))


def _orders(best: pyvrp.Solution, option_of: list[Option]) -> Iterable[tuple[int, list[Option]]]:
    for route in best.routes():
        found = [option_of[one.idx] for one in route if one.is_client()]
        yield route.vehicle_type(), found


def _places(problem: Problem, visits: list[list[Option]]) -> list[Place]:
    found: dict[Place, None] = {}
    for cell in problem.cells:
        found[cell.start, frozenset(), None] = None
        found[cell.end, frozenset(), None] = None
    for options in visits:
        for one in options:
            found[one.place, one.skills, one.technician_id] = None
    return list(found)


def _clients(
    problem: Problem, visits: list[list[Option]], row: dict[Place, int]
) -> tuple[list[pyvrp.Client], list[pyvrp.ClientGroup], list[Option]]:
    clients: list[pyvrp.Client] = []
    groups: list[pyvrp.ClientGroup] = []
    option_of: list[Option] = []
    meal = problem.cells[0]  # all technicians of a made-up company eat at the same time
    for options in visits:
        spans = [(one, span) for one in options for span in one.windows]
        group = len(groups) if len(spans) > 1 else None
        if group is not None:
            members = range(len(clients), len(clients) + len(spans))
            groups.append(pyvrp.ClientGroup(list(members), required=False))
        for one, (begin, end) in spans:
            clients.append(
                pyvrp.Client(
                    location=row[one.place, one.skills, one.technician_id],
                    delivery=[one.load],
                    service_duration=one.service_s,
                    tw_early=without_meal(meal, begin),
                    tw_late=without_meal(meal, end),
                    prize=problem.prices.unplaced_s + one.service_s - one.price_s,
                    required=False,
                    group=group,
                )
            )
            option_of.append(one)
    return clients, groups, option_of


def _profile(cell: Cell) -> tuple[str, frozenset[str]]:
    return cell.technician_id, cell.skills


def _matrix(problem: Problem, places: list[Place], cell: Cell) -> Seconds:
    """Drives of one technician; to places that ask for another one or more skills, none."""
    rows = np.array([place for place, _, _ in places])
    matrix: Seconds = problem.drive_s[np.ix_(rows, rows)].copy()
    closed = [
        not (skills <= cell.skills and technician in (None, cell.technician_id))
        for _, skills, technician in places
    ]
    matrix[:, closed] = FORBIDDEN_S
    matrix[closed, :] = FORBIDDEN_S
    np.fill_diagonal(matrix, 0)
    return matrix


def _vehicle(
    problem: Problem, cell: Cell, depot: dict[int, int], profile: int
) -> pyvrp.VehicleType:
    midnight = midnight_s(problem, cell.day)
    return pyvrp.VehicleType(
        num_available=1,
        capacity=[round(cell.payload_kg * UNITS_PER_KG)],
        start_depot=depot[cell.start],
        end_depot=depot[cell.end],
        tw_early=midnight + cell.shift.start_s,
        tw_late=without_meal(cell, midnight + cell.shift.end_s),
        unit_distance_cost=0,
        unit_duration_cost=1,
        profile=profile,
    )
