"""The round of one truck-day in the exact model: order, clock, meal, supply stop, loads, overtime.

One circuit of arcs through the visits it makes and the supply stop, clock times on the arcs, the
meal taken after any stop or before the first.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import product
from typing import TypeAlias

from ortools.sat.python import cp_model

from dispatch.clock import DAY_S
from dispatch.planning.problem import Cell, Problem

Literal: TypeAlias = cp_model.IntVar
GRAMS = 1000
MILLI = 1000  # prices per second that need not be whole are kept in thousandths
Moments: TypeAlias = dict[int, cp_model.LinearExprT]


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
    idle: dict[int, Literal] = field(default_factory=dict)  # by cell, as the next two
    over_s: dict[int, cp_model.LinearExprT] = field(default_factory=dict)
    work_s: dict[int, cp_model.LinearExprT] = field(default_factory=dict)

    @property
    def supply(self) -> int:
        """Number of the supply stop in a round, after the visits and its two ends."""
        return len(self.visits) + 2

    def add_price(self, price_milli: cp_model.LinearExprT, name: str) -> None:
        """Pay so many thousandths of a second, in whole seconds rounded down."""
        paid = self.cp.new_int_var(0, 1 << 40, f"price of {name}")
        self.cp.add(MILLI * paid + MILLI - 1 >= price_milli)
        self.cost.append(paid)

    def cells_of(self, v: int) -> dict[int, Literal]:
        """Truck-days on which a visit may stand, with what says that it does."""
        return {c: here for (visit, c), here in self.here.items() if visit == v}

    def visits_of(self, c: int) -> list[int]:
        """Visits that may stand on a truck-day."""
        return [v for v, cell in self.here if cell == c]

    def plain_s(self, v: int) -> int:
        """Seconds of a visit without upkeep."""
        visit = self.visits[v]
        demand = self.problem.demands[visit.demand]
        return demand.service_s + (demand.extra_s[visit.number] if demand.extra_s else 0)

    def service_s(self, v: int) -> cp_model.LinearExprT:
        """Seconds of a visit with what rides on it."""
        visit = self.visits[v]
        demand = self.problem.demands[visit.demand]
        return self.plain_s(v) + sum(
            60 * item.minutes * self.rides[visit.demand, n, visit.number]
            for n, item in enumerate(demand.upkeep)
        )


def add_round(model: Model, c: int, cell: Cell) -> None:
    """The round of one truck-day, and what it costs."""
    cp = model.cp
    out, back = len(model.visits), len(model.visits) + 1  # its two ends, beside the visits
    idle = cp.new_bool_var(f"nobody in {c}")
    regular_s = cell.shift.end_s - cell.slack_s
    last_s = regular_s + cell.overtime_s
    start = cp.new_int_var(cell.shift.start_s, max(last_s, cell.shift.start_s), f"start {c}")
    end = cp.new_int_var(0, 2 * DAY_S, f"end {c}")
    cp.add(end <= last_s).only_enforce_if(~idle)
    cp.add(end == cell.shift.start_s).only_enforce_if(idle)
    cp.add(start == cell.shift.start_s).only_enforce_if(idle)
    visits = model.visits_of(c)
    ready: Moments = {v: model.begin[v] + model.service_s(v) for v in visits}
    ready[out] = start
    arrive: Moments = {v: model.begin[v] for v in visits}
    arrive[back] = end
    refills = _add_supply(model, c, cell, ready, arrive)
    leave_s, meal_s = _meal(model, c, cell, (ready, end, idle, refills))
    arcs: list[tuple[int, int, cp_model.LiteralT]] = [(out, out, idle)]
    driven: list[cp_model.LinearExprT] = []
    for i, j in product(ready, arrive):
        if i == j or (i == out and j == back):
            continue
        go = cp.new_bool_var(f"{c}: {i} to {j}")
        model.go[c, i, j] = go
        leg_s = int(model.problem.drive_s[_place(model, cell, i), _place(model, cell, j)])
        arcs.append((i, out if j == back else j, go))
        driven.append(leg_s * go)
        cp.add(arrive[j] >= leave_s[i] + leg_s).only_enforce_if(go)
    arcs += [(v, v, ~model.here[v, c]) for v in visits]
    if refills is not None:
        arcs.append((model.supply, model.supply, ~refills))
    cp.add_circuit(arcs)
    aboard_s = _add_load(model, c, cell)
    refill_s = cell.supply.service_s * refills if cell.supply and refills is not None else 0
    # Implied by the clock; said outright, it brings the proof from minutes to seconds.
    cp.add(end - start >= sum(driven) + aboard_s + meal_s + refill_s)
    _add_chemicals(model, c, cell, refills)
    over_s = cp.new_int_var(0, DAY_S, f"overtime {c}")
    cp.add_max_equality(over_s, [0, end - regular_s])
    model.idle[c], model.over_s[c], model.work_s[c] = idle, over_s, end - start - meal_s
    # Waiting is what is left of the day; the seconds of service are taken off by the visits.
    waiting = model.problem.prices.waiting
    model.cost.append((1 - waiting) * sum(driven) + waiting * (model.work_s[c] - refill_s))
    model.add_price(round(MILLI * cell.pay_factor) * over_s, f"day {c}")


def _place(model: Model, cell: Cell, i: int) -> int:
    """Row of the drive-time matrix of a visit, an end of the round or the supply stop."""
    if i < len(model.visits):
        return model.problem.demands[model.visits[i].demand].place
    if i == model.supply:
        return cell.supply.place if cell.supply else 0
    return cell.start if i == len(model.visits) else cell.end


def _add_supply(
    model: Model, c: int, cell: Cell, ready: Moments, arrive: Moments
) -> Literal | None:
    """Whether the supply stop is made, with its times; None for a truck without one."""
    if cell.supply is None:
        return None
    at = model.cp.new_int_var(0, 2 * DAY_S, f"supply {c}")
    arrive[model.supply] = at
    ready[model.supply] = at + cell.supply.service_s
    return model.cp.new_bool_var(f"{c} refills")


def _meal(
    model: Model,
    c: int,
    cell: Cell,
    moments: tuple[Moments, cp_model.IntVar, Literal, Literal | None],
) -> tuple[Moments, cp_model.LinearExprT]:
    """When the truck leaves each stop and its start place, and the seconds of the meal.

    A meal is owed where the day lasts beyond the latest time at which it may begin.
    """
    cp, meal = model.cp, cell.meal
    ready, end, idle, refills = moments
    if meal is None or not cell.shift.start_s <= meal.latest_s < cell.shift.end_s:
        return ready, 0
    leave: Moments = {}
    eat = cp.new_int_var(meal.earliest_s, meal.latest_s, f"meal {c}")
    eats_after = {i: cp.new_bool_var(f"meal {c} after {i}") for i in ready}
    for i, from_s in ready.items():
        gone = cp.new_int_var(0, 2 * DAY_S, f"{c} leaves {i}")
        cp.add(gone >= from_s)
        cp.add(eat >= from_s).only_enforce_if(eats_after[i])
        cp.add(gone >= eat + 60 * meal.minutes).only_enforce_if(eats_after[i])
        if i == model.supply and refills is not None:
            cp.add_implication(eats_after[i], refills)
        else:
            cp.add(eats_after[i] <= (1 - idle if i == len(model.visits) else model.here[i, c]))
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
        service_s.append(model.plain_s(v) * model.here[v, c])
        for n, item in enumerate(demand.upkeep):
            aboard = model.cp.new_bool_var(f"item {n} of {visit.demand} in {c}")
            ride = model.rides[visit.demand, n, visit.number]
            model.cp.add(aboard >= ride + model.here[v, c] - 1)
            mass_g.append(round(GRAMS * item.mass_kg) * aboard)
            service_s.append(60 * item.minutes * aboard)
    model.cp.add(sum(mass_g) <= round(GRAMS * cell.payload_kg))
    return sum(service_s)


def _add_chemicals(model: Model, c: int, cell: Cell, refills: Literal | None) -> None:
    """No more aboard than may be; a supply stop where it is needed, and only there."""
    cp, most_g = model.cp, round(GRAMS * cell.chemicals_most_kg)
    grams = {
        v: round(GRAMS * model.problem.demands[model.visits[v].demand].chemicals_kg)
        for v in model.visits_of(c)
    }
    total_g = sum(one * model.here[v, c] for v, one in grams.items())
    if refills is None:
        cp.add(total_g <= most_g)
        return
    cp.add(total_g <= most_g).only_enforce_if(~refills)
    cp.add(total_g > most_g).only_enforce_if(refills)
    used = {
        v: cp.new_int_var(min(one, most_g), most_g, f"{c} used {v}") for v, one in grams.items()
    }
    for (cell_number, i, j), go in model.go.items():
        if cell_number == c and j in grams:
            before = used[i] if i in grams else 0  # from the start or the supply stop: nothing yet
            cp.add(used[j] >= before + grams[j]).only_enforce_if(go)
