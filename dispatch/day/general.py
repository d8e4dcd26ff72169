"""The rest of a day given to PyVRP, a general library of vehicle routing, as a second opinion.

It knows neither meals nor several windows nor the price of a changed order: the meal shortens the
shift, a visit may begin from its first window to its last, and what is broken already may stay so.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from dispatch.day.field import (
    CHEMICALS_G,
    END,
    IS_OUT,
    LAST_END_S,
    LOAD_G,
    MEAL_S,
    OVER,
    OVERTIME_MILLI,
    READY_S,
    REGULAR_END_S,
    START,
    Field,
    Ints,
)
from dispatch.day.own_search import Found, cost_of, inserted
from dispatch.day.rest import Order

FAR_S = 10**6  # drive time of what may not be; beyond any day, and small enough to be added up
SPARE_S = 3 * 3600  # seconds beyond the longest day that a route may take, at a price
LEAST_SHIFT_S = 60  # the library knows no empty shift


def general_search(f: Field, start: Sequence[Order], *, seed: int, rounds: int) -> Found:
    """What the library makes of `start` in a number of iterations, at what it really costs."""
    standing = Found(tuple(tuple(one) for one in start), cost_of(f, start))
    if not len(f.place) or not len(f.cell):
        return standing
    import pyvrp
    from pyvrp.stop import MaxIterations

    data = _data(pyvrp, f, start)
    routes = [pyvrp.Route(data, list(order), r) for r, order in enumerate(start) if order]
    answer = pyvrp.solve(
        data,
        MaxIterations(rounds),
        seed=seed,
        collect_stats=False,
        display=False,
        initial_solution=pyvrp.Solution(data, routes),
    )
    orders: list[Order] = [()] * len(f.cell)
    for route in answer.best.routes():
        orders[route.vehicle_type()] = tuple(one.idx for one in route if one.is_client())
    found = _allowed(f, orders)
    return found if found.cost_s < standing.cost_s else standing


def _allowed(f: Field, orders: Sequence[Order]) -> Found:
    """The orders with those visits elsewhere that are with somebody who may not make them.

    The library knows places alone: of two visits at one site it sends both to whoever may make one.
    """
    wrong = [v for r, order in enumerate(orders) for v in order if not f.may[v, r]]
    kept = [tuple(v for v in order if f.may[v, r]) for r, order in enumerate(orders)]
    return inserted(f, kept, wrong)


def _data(pyvrp: Any, f: Field, start: Sequence[Order]) -> Any:
    """The library's problem: places are those of the field, a vehicle type for each cell."""
    profiles: dict[bytes, int] = {}
    matrices: list[Ints] = []
    of_cell = []
    for r in range(len(f.cell)):
        column = f.may[:, r]
        key = column.tobytes()
        if key not in profiles:
            profiles[key] = len(matrices)
            matrices.append(_matrix(f, column))
        of_cell.append(profiles[key])
    latest = _latest(f, start)
    clients = [
        pyvrp.Client(
            int(f.place[v]),
            delivery=[int(f.load_g[v]), int(f.chemicals_g[v])],
            service_duration=int(f.lasts_s[v]),
            tw_early=int(f.from_s[f.first[v]]),
            tw_late=int(latest[v]),
            prize=int(f.unplaced_s[v]),
            required=False,
        )
        for v in range(len(f.place))
    ]
    depots = [pyvrp.Depot(int(cell[end])) for cell in f.cell for end in (START, END)]
    return pyvrp.ProblemData(
        [pyvrp.Location(0, 0) for _ in f.drive_s],
        clients,
        depots,
        [_vehicle(pyvrp, f, r, of_cell[r]) for r in range(len(f.cell))],
        matrices,
        matrices,
    )


def _vehicle(pyvrp: Any, f: Field, r: int, profile: int) -> Any:
    cell = [int(value) for value in f.cell[r]]
    overtime = round(cell[OVERTIME_MILLI] / 1000)
    if cell[LAST_END_S] <= cell[REGULAR_END_S]:
        overtime += int(f.price[OVER])
    lasts_s = cell[REGULAR_END_S] - cell[READY_S] - cell[MEAL_S]
    return pyvrp.VehicleType(
        1,
        capacity=[max(0, cell[LOAD_G]), max(0, cell[CHEMICALS_G])],
        start_depot=2 * r,
        end_depot=2 * r + 1,
        tw_early=cell[READY_S],
        tw_late=max(cell[LAST_END_S], cell[READY_S]) + SPARE_S,
        start_late=cell[READY_S] if cell[IS_OUT] else None,
        shift_duration=max(LEAST_SHIFT_S, lasts_s),
        max_overtime=cell[LAST_END_S] - cell[REGULAR_END_S] + SPARE_S,
        unit_overtime_cost=overtime,
        profile=profile,
    )


def _matrix(f: Field, may: np.ndarray[Any, np.dtype[np.bool_]]) -> Ints:
    """Drive times in which places that nobody of a profile may visit are out of reach.

    A place of two visits, of which one is open, stays in reach of both.
    """
    matrix = np.minimum(f.drive_s, FAR_S)
    open_to = set(f.place[may].tolist())
    for place in {int(one) for one in f.place[~may]} - open_to:
        matrix[:, place] = FAR_S
    np.fill_diagonal(matrix, 0)
    return matrix


def _latest(f: Field, start: Sequence[Order]) -> Ints:
    """Latest beginning of each visit: the end of its last window, or as it stands where later."""
    latest = f.to_s[f.first[1:] - 1].copy()
    for r, order in enumerate(start):
        now, here = int(f.cell[r, READY_S] + f.cell[r, MEAL_S]), int(f.cell[r, START])
        for v in order:
            now += int(f.drive_s[here, f.place[v]])
            now = max(now, int(f.from_s[f.first[v]]))
            latest[v] = max(latest[v], now)
            now += int(f.lasts_s[v])
            here = int(f.place[v])
    return latest
