"""A week as a constraint model in OR-Tools CP-SAT, written from the rules and prices as stated.

Here are sites, upkeep and the weeks of the technicians; the rounds of the truck-days are in
`rounds`. Nothing of the search, the timetable or the score is used.

What a day decides for itself, as the timetable does, and the model may decide for the week: when to
leave, where to eat. Both mean the same unless the same technician's week and day have rules that
pull apart (hours of a week or a band, beside overtime of a day).
"""

from __future__ import annotations

from datetime import date

from ortools.sat.python import cp_model

from dispatch.clock import DAY_S
from dispatch.planning.placed import Placed
from dispatch.planning.problem import Cell, Demand, Hours, Problem
from dispatch.planning.search import Assignment
from dispatch.upkeep import UpkeepDue
from tests.planning.exact.rounds import MILLI, Model, Visit, add_round

WEEK_S = 7 * DAY_S


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
        add_round(model, c, cell)
    for rule in problem.hours:
        _add_week(model, rule)
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
    patterns = _patterns(demand)
    chosen = [cp.new_bool_var(f"pattern {u} {n}") for n in range(len(patterns))]
    cp.add_at_most_one(chosen)
    for number in range(len(demand.visit_ids)):
        v = len(model.visits)
        model.visits.append(Visit(u, number))
        opening = cp_model.Domain.from_intervals(
            [[one.start_s, one.end_s] for one in demand.windows]
        )
        model.begin.append(cp.new_int_var_from_domain(opening, f"begin {v}"))
        literals = []
        for c, cell in enumerate(model.problem.cells):
            if not _may_stand(demand, number, cell):
                continue
            here = cp.new_bool_var(f"visit {v} in {c}")
            model.here[v, c] = here
            literals.append(here)
            agreed = zip(chosen, patterns, strict=True)
            cp.add(here <= sum(one for one, days in agreed if days[number] == cell.day))
            model.cost.append(_change_s(model.problem, demand, cell) * here)
        cp.add(sum(literals) <= 1)
        left_out_s = round(prices.unplaced_s * demand.importance)
        if demand.kept and demand.kept[number] is not None:
            left_out_s *= 100  # what must stay is left out for no other's sake
        model.cost.append(left_out_s * (1 - sum(literals)))
    for n, item in enumerate(demand.upkeep):
        _add_upkeep(model, u, n, item, range(first, len(model.visits)))
    for v in range(first, len(model.visits)):
        placed = list(model.cells_of(v).values())
        plain_s = model.plain_s(v)
        riding = model.service_s(v) - plain_s
        model.cost.append(-prices.waiting * (plain_s * sum(placed) + riding))


def _patterns(demand: Demand) -> list[tuple[date, ...]]:
    """The patterns agreed in which a visit that must stay keeps its day."""
    kept = demand.kept or (None,) * len(demand.visit_ids)
    return [
        days
        for days in demand.patterns
        if all(one is None or one[1] == day for one, day in zip(kept, days, strict=True))
    ]


def _may_stand(demand: Demand, number: int, cell: Cell) -> bool:
    """Whether days, skills, persons, wishes, lock and what must stay allow a visit in a cell."""
    locked_out = demand.technician_locked and demand.usual_technician_id != cell.technician_id
    unwanted = cell.technician_id in demand.unwanted_technician_ids
    kept = demand.kept[number] if demand.kept else None
    stays = kept is None or kept == (cell.technician_id, cell.day)
    agreed = any(days[number] == cell.day for days in _patterns(demand))
    able = demand.skills <= cell.skills and demand.crew <= cell.crew
    return agreed and able and stays and not locked_out and not unwanted


def _change_s(problem: Problem, demand: Demand, cell: Cell) -> int:
    """What another technician, another weekday than usual and a day off the rhythm cost."""
    price = 0
    if demand.usual_technician_id not in (None, cell.technician_id):
        price += problem.prices.technician_change_s
    if demand.usual_weekdays and cell.day.weekday() not in demand.usual_weekdays:
        price += problem.prices.day_change_s
    far = max(1, dict(demand.off_rhythm).get(cell.day, 0)) - 1
    return price + problem.prices.day_change_s * far * far // 36


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


def _add_week(model: Model, rule: Hours) -> None:
    """Hours of a technician's week: the most it may hold, overtime, and distance from the band."""
    cp, cells = model.cp, model.problem.cells
    own = [c for c, cell in enumerate(cells) if cell.technician_id == rule.technician_id]
    if not own:
        return
    name = rule.technician_id
    work_s = rule.spent_s + sum(model.work_s[c] for c in own)
    if rule.most_s is not None:
        out = cp.new_bool_var(f"{name} works")
        for c in own:
            cp.add_implication(~model.idle[c], out)
        cp.add(work_s <= rule.most_s).only_enforce_if(out)
    price_milli: cp_model.LinearExprT = 0
    if rule.regular_s is not None:
        more_s = cp.new_int_var(0, WEEK_S, f"{name} overtime")
        cp.add(more_s >= work_s - rule.regular_s - sum(model.over_s[c] for c in own))
        price_milli += round(MILLI * rule.pay_factor) * more_s
    if rule.target_s is not None:
        outside_s = cp.new_int_var(0, WEEK_S, f"{name} outside the band")
        cp.add(outside_s >= work_s - rule.target_s - rule.band_s)
        cp.add(outside_s >= rule.target_s - work_s - rule.band_s)
        price_milli += round(MILLI * model.problem.prices.uneven) * outside_s
    model.add_price(price_milli, name)


def _assignment(model: Model, solver: cp_model.CpSolver) -> Assignment:
    """The routes of the answer."""
    out, routes = len(model.visits), []
    for c in range(len(model.problem.cells)):
        after = {i: j for (cell, i, j), go in model.go.items() if cell == c and solver.value(go)}
        order, at = list[Placed](), after.get(out, out + 1)
        while at != out + 1:
            if at == model.supply:
                at = after[at]
                continue
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
