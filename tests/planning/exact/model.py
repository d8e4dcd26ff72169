"""A week as a constraint model in OR-Tools CP-SAT, written from the rules and prices as stated.

One circuit of arcs per truck-day through the visits it makes, clock times on the arcs, the meal
taken after any stop or before the first. Nothing of the search, the timetable or the score is used.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import product
from typing import TypeAlias

from ortools.sat.python import cp_model

from dispatch.clock import DAY_S
from dispatch.planning.placed import Placed
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.planning.search import Assignment
from dispatch.upkeep import UpkeepDue

Literal: TypeAlias = cp_model.IntVar
GRAMS = 1000


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit of a demand, by their positions."""

    demand: int
    number: int


@dataclass
class Model:
    """The model of one week and its variables."""

    problem: Problem
    cp: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    visits: list[Visit] = field(default_factory=list)
    here: dict[tuple[int, int], Literal] = field(default_factory=dict)  # visit, cell
    rides: dict[tuple[int, int, int], Literal] = field(default_factory=dict)  # demand, item, visit
    go: dict[tuple[int, int, int], Literal] = field(default_factory=dict)  # cell, from, to
    begin: list[cp_model.IntVar] = field(default_factory=list)
    cost: list[cp_model.LinearExprT] = field(default_factory=list)

    def cells_of(self, v: int) -> dict[int, Literal]:
        """Truck-days on which a visit may stand, with what says that it does."""
        return {c: here for (visit, c), here in self.here.items() if visit == v}

    def visits_of(self, c: int) -> list[int]:
        """Visits that may stand on a truck-day."""
        return [v for v, cell in self.here if cell == c]

    def service_s(self, v: int) -> cp_model.LinearExprT:
        """Seconds of a visit with what rides on it."""
        visit = self.visits[v]
        demand = self.problem.demands[visit.demand]
        return demand.service_s + sum(
            60 * item.minutes * self.rides[visit.demand, n, visit.number]
            for n, item in enumerate(demand.upkeep)
        )


def optimum(problem: Problem, seconds: float = 60.0) -> tuple[int, Assignment]:
    """Least cost of a week in seconds of driving, and an assignment that has it.

    Raises
    ------
    RuntimeError
        When the optimum is not proved within `seconds` on the wall's clock.
    """
    model = Model(problem)
    for u, demand in enumerate(problem.demands):
        _add_demand(model, u, demand)
    for c, cell in enumerate(problem.cells):
        _add_route(model, c, cell)
    model.cp.minimize(sum(model.cost))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2  # without, some proofs take minutes
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model.cp)
    if status != cp_model.OPTIMAL:
        raise RuntimeError(f"The exact model ended with {solver.status_name(status)}.")
    return round(solver.objective_value), _assignment(model, solver)


def _add_demand(model: Model, u: int, demand: Demand) -> None:
    """The days, technicians and upkeep of one site, and what they cost."""
    cp, prices = model.cp, model.problem.prices
    first = len(model.visits)
    chosen = [cp.new_bool_var(f"pattern {u} {n}") for n in range(len(demand.patterns))]
    cp.add_exactly_one(chosen)
    for number in range(len(demand.visit_ids)):
        v = len(model.visits)
        model.visits.append(Visit(u, number))
        window = demand.windows[0]
        model.begin.append(cp.new_int_var(window.start_s, window.end_s, f"begin {v}"))
        literals = []
        for c, cell in enumerate(model.problem.cells):
            if not _may_stand(demand, number, cell):
                continue
            here = cp.new_bool_var(f"visit {v} in {c}")
            model.here[v, c] = here
            literals.append(here)
            agreed = zip(chosen, demand.patterns, strict=True)
            cp.add(here <= sum(one for one, days in agreed if days[number] == cell.day))
            model.cost.append(_change_s(model.problem, demand, cell) * here)
        cp.add(sum(literals) <= 1)
        model.cost.append(prices.unplaced_s * (1 - sum(literals)))
    for n, item in enumerate(demand.upkeep):
        _add_upkeep(model, u, n, item, range(first, len(model.visits)))
    for v in range(first, len(model.visits)):
        placed = list(model.cells_of(v).values())
        riding = model.service_s(v) - demand.service_s
        model.cost.append(-prices.waiting * (demand.service_s * sum(placed) + riding))


def _may_stand(demand: Demand, number: int, cell: Cell) -> bool:
    """Whether days, skills and lock allow a visit on a truck-day."""
    locked_out = demand.technician_locked and demand.usual_technician_id != cell.technician_id
    agreed = any(days[number] == cell.day for days in demand.patterns)
    return agreed and not locked_out and demand.skills <= cell.skills


def _change_s(problem: Problem, demand: Demand, cell: Cell) -> int:
    """What another technician and another weekday than usual cost."""
    price = 0
    if demand.usual_technician_id not in (None, cell.technician_id):
        price += problem.prices.technician_change_s
    if demand.usual_weekdays and cell.day.weekday() not in demand.usual_weekdays:
        price += problem.prices.day_change_s
    return price


def _add_upkeep(model: Model, u: int, n: int, item: UpkeepDue, visits: range) -> None:
    """Upkeep rides on one visit, where day and skill allow it, or is put off at its price."""
    cp, prices, demand = model.cp, model.problem.prices, model.problem.demands[u]
    late = cp.new_bool_var(f"late {u} {n}")
    riding = []
    for v in visits:
        ride = cp.new_bool_var(f"item {n} on visit {v}")
        model.rides[u, n, model.visits[v].number] = ride
        riding.append(ride)
        cp.add(ride <= sum(model.cells_of(v).values()))
        for c in model.cells_of(v):
            cell = model.problem.cells[c]
            unable = item.skill is not None and item.skill not in cell.skills
            if cell.day < item.earliest_on or unable:
                cp.add(ride + model.here[v, c] <= 1)
            if cell.day > item.latest_on:
                cp.add(late >= ride + model.here[v, c] - 1)
    cp.add(sum(riding) <= 1)
    model.cost.append(prices.upkeep_late_s * late)
    model.cost.append(_put_off_s(model.problem, demand, item) * (1 - sum(riding)))


def _put_off_s(problem: Problem, demand: Demand, item: UpkeepDue) -> int:
    """From just fallen due to just before the latest day the price rises in a straight line."""
    prices = problem.prices
    if item.latest_on < demand.next_visit_on:
        return prices.put_off_too_late_s
    whole = max(1, (item.latest_on - item.due_on).days)
    used = min(1.0, (demand.next_visit_on - item.due_on).days / whole)
    return prices.put_off_first_s + round(used * (prices.put_off_last_s - prices.put_off_first_s))


def _add_route(model: Model, c: int, cell: Cell) -> None:
    """The round of one truck-day: order, clock, meal, payload, driving and waiting."""
    cp, problem = model.cp, model.problem
    place = [problem.demands[one.demand].place for one in model.visits]
    out, back = len(place), len(place) + 1  # its two ends, as numbers beside the visits
    idle = cp.new_bool_var(f"nobody in {c}")
    start = cp.new_int_var(cell.shift.start_s, cell.shift.end_s, f"start {c}")
    end = cp.new_int_var(cell.shift.start_s, cell.shift.end_s, f"end {c}")
    cp.add(end == start).only_enforce_if(idle)
    visits = model.visits_of(c)
    ready: dict[int, cp_model.LinearExprT] = {
        v: model.begin[v] + model.service_s(v) for v in visits
    }
    ready[out] = start
    leave_s, meal_s = _meal(model, c, cell, (ready, end, idle))
    arcs: list[tuple[int, int, cp_model.LiteralT]] = [(out, out, idle)]
    driven: list[cp_model.LinearExprT] = []
    for i, j in product((*visits, out), (*visits, back)):
        if i == j or (i == out and j == back):
            continue
        go = cp.new_bool_var(f"{c}: {i} to {j}")
        model.go[c, i, j] = go
        leg_s = int(
            problem.drive_s[
                cell.start if i == out else place[i], cell.end if j == back else place[j]
            ]
        )
        arcs.append((i, out if j == back else j, go))
        driven.append(leg_s * go)
        arrive = end if j == back else model.begin[j]
        cp.add(arrive >= leave_s[i] + leg_s).only_enforce_if(go)
    arcs += [(v, v, ~model.here[v, c]) for v in visits]
    cp.add_circuit(arcs)
    aboard_s = _add_load(model, c, cell)
    # Implied by the clock; said outright, it brings the proof from minutes to seconds.
    cp.add(end - start >= sum(driven) + aboard_s + meal_s)
    # Waiting is what is left of the day; the seconds of service are taken off by the visits.
    waiting = problem.prices.waiting
    model.cost.append((1 - waiting) * sum(driven) + waiting * (end - start - meal_s))


def _meal(
    model: Model,
    c: int,
    cell: Cell,
    moments: tuple[dict[int, cp_model.LinearExprT], cp_model.IntVar, Literal],
) -> tuple[dict[int, cp_model.LinearExprT], cp_model.LinearExprT]:
    """When the truck leaves each stop and its start place, and the seconds of the meal.

    A meal is owed where the day lasts beyond the latest time at which it may begin.
    """
    cp, meal = model.cp, cell.meal
    ready, end, idle = moments
    if meal is None or not cell.shift.start_s <= meal.latest_s < cell.shift.end_s:
        return ready, 0
    out = len(model.visits)
    leave: dict[int, cp_model.LinearExprT] = {}
    eat = cp.new_int_var(meal.earliest_s, meal.latest_s, f"meal {c}")
    eats_after = {i: cp.new_bool_var(f"meal {c} after {i}") for i in ready}
    for i, from_s in ready.items():
        gone = cp.new_int_var(0, 2 * DAY_S, f"{c} leaves {i}")
        cp.add(gone >= from_s)
        cp.add(eat >= from_s).only_enforce_if(eats_after[i])
        cp.add(gone >= eat + 60 * meal.minutes).only_enforce_if(eats_after[i])
        cp.add(eats_after[i] <= (1 - idle if i == out else model.here[i, c]))
        leave[i] = gone
    eats = cp.new_bool_var(f"meal {c}")
    cp.add(sum(eats_after.values()) == eats)
    cp.add(end <= meal.latest_s).only_enforce_if(~eats)
    return leave, 60 * meal.minutes * eats


def _add_load(model: Model, c: int, cell: Cell) -> cp_model.LinearExprT:
    """Keep the payload; return the seconds of service of one truck-day."""
    mass_g: list[cp_model.LinearExprT] = []
    service_s: list[cp_model.LinearExprT] = []
    for v in model.visits_of(c):
        visit = model.visits[v]
        demand = model.problem.demands[visit.demand]
        mass_g.append(round(GRAMS * demand.load_kg) * model.here[v, c])
        service_s.append(demand.service_s * model.here[v, c])
        for n, item in enumerate(demand.upkeep):
            aboard = model.cp.new_bool_var(f"item {n} of {visit.demand} in {c}")
            ride = model.rides[visit.demand, n, visit.number]
            model.cp.add(aboard >= ride + model.here[v, c] - 1)
            mass_g.append(round(GRAMS * item.mass_kg) * aboard)
            service_s.append(60 * item.minutes * aboard)
    model.cp.add(sum(mass_g) <= round(GRAMS * cell.payload_kg))
    return sum(service_s)


def _assignment(model: Model, solver: cp_model.CpSolver) -> Assignment:
    """The routes of the answer."""
    out, routes = len(model.visits), []
    for c in range(len(model.problem.cells)):
        after = {i: j for (cell, i, j), go in model.go.items() if cell == c and solver.value(go)}
        order, at = list[Placed](), after.get(out, out + 1)
        while at <= out:
            visit = model.visits[at]
            riders = tuple(
                n
                for (u, n, number), ride in sorted(model.rides.items())
                if (u, number) == (visit.demand, visit.number) and solver.value(ride)
            )
            order.append(Placed(visit.demand, visit.number, riders))
            at = after[at]
        routes.append(tuple(order))
    return Assignment(tuple(routes), round(solver.objective_value), 0)
