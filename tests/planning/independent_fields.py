"""What a plan writes down beside its orders, recomputed from the words of the rules.

Every field of a stop is about the stop and the way to it; every total of a route is the sum of its
parts; what is unplaced or put off is named as the problem names it; a change is a visit away from
its usual technician or weekday; the cost is what the prices make of the plan.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import zip_longest

from dispatch.planning.plan import Route, Rule, Stop, Unplaced, WeekPlan
from dispatch.planning.problem import Cell, Demand, Hours, Problem
from dispatch.upkeep import UpkeepDue
from tests.planning.independent_day import Day, Step

Finding = tuple[Rule, str, str | None, date | None, float]
WHO = (Rule.TECHNICIAN_LOCK, Rule.UNWANTED, Rule.CREW, Rule.SKILL)
AMOUNTS = (Rule.WINDOW, Rule.OVERFULL, Rule.BREAK, Rule.HOURS, Rule.PAYLOAD, Rule.CHEMICALS)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def _compare(
    written: object,
    true: Mapping[str, object],
    subject: str,
    technician_id: str | None = None,
    day: date | None = None,
) -> Iterator[Finding]:
    for name, ought in true.items():
        says = getattr(written, name)
        if says != ought:
            numbers = isinstance(says, int | float) and isinstance(ought, int | float)
            off = abs(float(says) - float(ought)) if numbers else 0.0  # type: ignore[arg-type]
            yield Rule.FALSE, f"{subject}: {name}", technician_id, day, off


def false_route(
    problem: Problem, cell: Cell, route: Route, plain: list[tuple[Demand, int]], day: Day
) -> Iterator[Finding]:
    """False fields of a route and its stops, whose visits are all due."""
    who = (cell.technician_id, cell.day)
    ways = [step for step in day.steps if step.kind == "visit"]
    rows = zip(route.stops, plain, ways, day.stops, strict=True)
    for stop, (demand, _), way, (arrive_s, start_s, leave_s) in rows:
        true = {
            "site_id": demand.site_id,
            "drive_s": way.drive_s,
            "drive_m": way.drive_m,
            "arrive_s": arrive_s,
            "start_s": start_s,
            "leave_s": leave_s,
        }
        yield from _compare(stop, true, stop.visit_id, *who)
    supply = next((step for step in day.steps if step.kind == "supply"), None)
    totals = _totals(route, plain, day, supply or Step("none", 0, 0, (), 0))
    yield from _compare(route, totals, cell.technician_id, *who)


def _totals(
    route: Route, plain: list[tuple[Demand, int]], day: Day, supply: Step
) -> dict[str, object]:
    rows = zip(route.stops, plain, strict=True)
    riding = [
        item
        for stop, (demand, _) in rows
        for name in stop.upkeep_ids
        for item in demand.upkeep
        if item.id == name
    ]
    load_kg = sum(demand.load_kg for demand, _ in plain) + sum(item.mass_kg for item in riding)
    return {
        "start_s": day.start_s,
        "end_s": day.end_s,
        "drive_s": sum(step.drive_s for step in day.steps) + day.home_s,
        "drive_m": sum(step.drive_m for step in day.steps) + day.home_m,
        "service_s": sum(lasts_s for _, lasts_s in plain),
        "wait_s": day.wait_s,
        "return_drive_s": day.home_s,
        "return_drive_m": day.home_m,
        "break_after": day.meal[0],
        "break_start_s": day.meal[1],
        "break_s": day.meal_s,
        "load_kg": round(load_kg, 1),
        "chemicals_kg": round(sum(demand.chemicals_kg for demand, _ in plain), 1),
        "overtime_s": day.overtime_s,
        "supply_after": day.supply[0],
        "supply_start_s": day.supply[1],
        "supply_s": supply.lasts_s,
        "supply_drive_s": supply.drive_s,
        "supply_drive_m": supply.drive_m,
    }


def false_lists(problem: Problem, plan: WeekPlan) -> Iterator[Finding]:
    """False entries of what is unplaced and put off; those not due are counted elsewhere."""
    sites = {name: demand.site_id for demand in problem.demands for name in demand.visit_ids}
    nowhere = {one.visit_id: one for one in problem.undrivable}
    for one in plan.unplaced:
        name = one.visit_id
        if name in nowhere:
            known = nowhere[name]
            true = {"site_id": known.site_id, "cells": known.cells}
            yield from _compare(one, true, name)
        elif name in sites:
            yield from _compare(one, {"site_id": sites[name]}, name)
            yield from _cells(problem, one)
        if not one.reason.strip():
            yield Rule.FALSE, f"{name}: reason", None, None, 0.0
    due = {item.id: (item, demand) for demand in problem.demands for item in demand.upkeep}
    stranded = {item.id: item for item, _ in problem.stranded_upkeep}
    for late in plan.put_off:
        name = late.upkeep_id
        if name in stranded:
            item = stranded[name]
            too_late = item.latest_on <= problem.week.sunday
        elif name in due:
            item, demand = due[name]
            too_late = item.latest_on < demand.next_visit_on
        else:
            continue
        ought = {"site_id": item.site_id, "title": item.title, "by": item.latest_on}
        yield from _compare(late, {**ought, "late": too_late}, name)
    for late in plan.put_off:
        if not late.reason.strip():
            yield Rule.FALSE, f"{late.upkeep_id}: reason", None, None, 0.0


def _cells(problem: Problem, one: Unplaced) -> Iterator[Finding]:
    """Every rule is said to be broken in a truck-day, by an amount where it has one.

    Who may not come at all is listed for every truck-day, and nobody else is.
    """
    false = (Rule.FALSE, f"{one.visit_id}: cells", None, None, 0.0)
    days = {(cell.technician_id, cell.day) for cell in problem.cells}
    people = list[tuple[Rule, str, date, float, str]]()
    for who, rule, day, amount, detail in {
        (b.technician_id, b.rule, b.day, b.amount, b.detail) for b in one.cells if b.rule in WHO
    }:
        people.append((rule, str(who), day or date.min, amount, detail))
    for broken in one.cells:
        where = (broken.technician_id, broken.day)
        stands = where in (problem.technicians_off if broken.rule is Rule.SHIFT else days)
        if not stands or (broken.amount > 0) is not (broken.rule in {*AMOUNTS, Rule.CREW}):
            yield false
    (demand,) = (d for d in problem.demands if one.visit_id in d.visit_ids)
    true = list(_ruled_out(problem, demand))
    yield from [false] * (len(set(people) - set(true)) + len(set(true) - set(people)))


def _ruled_out(problem: Problem, demand: Demand) -> Iterator[tuple[Rule, str, date, float, str]]:
    for cell in problem.cells:
        who, day, usual = cell.technician_id, cell.day, demand.usual_technician_id
        if demand.technician_locked and who != usual:
            yield Rule.TECHNICIAN_LOCK, who, day, 0.0, str(usual or "")
        if who in demand.unwanted_technician_ids:
            yield Rule.UNWANTED, who, day, 0.0, ""
        if cell.crew < demand.crew:
            yield Rule.CREW, who, day, float(demand.crew - cell.crew), ""
        for skill in demand.skills:
            if skill not in cell.skills:
                yield Rule.SKILL, who, day, 0.0, skill


def false_head(problem: Problem, plan: WeekPlan) -> Iterator[Finding]:
    """False totals and changes of a plan all of whose stops are due."""
    cost_s = cost_of(problem, plan)
    true = {"week": problem.week, "problem_digest": problem.digest, "cost_s": cost_s}
    yield from _compare(plan, true, str(problem.week))
    for name in ("seed", "iterations"):
        if getattr(plan, name) < 0:
            off = float(-getattr(plan, name))
            yield Rule.FALSE, f"{problem.week}: {name}", None, None, off
    moved = dict(_moved(problem, plan))
    told = list[str]()
    for one in plan.changes:
        if one.visit_id not in moved or one.visit_id in told:
            yield Rule.FALSE, f"{one.visit_id}: changes", None, None, 0.0
        else:
            yield from _compare(one, moved[one.visit_id], one.visit_id)
            if not one.reason.strip():
                yield Rule.FALSE, f"{one.visit_id}: reason", None, None, 0.0
        told.append(one.visit_id)
    for name in moved:
        if name not in told:
            yield Rule.FALSE, f"{name}: changes", None, None, 0.0


def _moved(problem: Problem, plan: WeekPlan) -> Iterator[tuple[str, dict[str, object]]]:
    """Visits away from the usual technician or weekday, with the words for both."""
    names = {cell.technician_id: cell.technician_name for cell in problem.cells}
    for route, stop, demand in _stops(problem, plan):
        who, days = demand.usual_technician_id, demand.usual_weekdays
        if who in (None, route.technician_id) and (not days or route.day.weekday() in days):
            continue
        usual_days = "/".join(WEEKDAYS[n] for n in sorted(days)) if days else "any day"
        usual_who = names.get(who, who) if who else "anyone"
        here = names.get(route.technician_id, route.technician_id)
        yield (
            stop.visit_id,
            {
                "site_id": demand.site_id,
                "usual": f"{usual_who}, {usual_days}",
                "planned": f"{here}, {WEEKDAYS[route.day.weekday()]}",
            },
        )


def _stops(problem: Problem, plan: WeekPlan) -> Iterator[tuple[Route, Stop, Demand]]:
    known = {name: demand for demand in problem.demands for name in demand.visit_ids}
    for route in plan.routes:
        for stop in route.stops:
            yield route, stop, known[stop.visit_id]


def cost_of(problem: Problem, plan: WeekPlan) -> int:
    """What a plan costs: driving, and all that has a price, in seconds of driving."""
    prices, cells = problem.prices, {(one.technician_id, one.day): one for one in problem.cells}
    total = sum(_hours_price_s(problem, plan, rule) for rule in problem.hours)
    done = dict[str, date]()
    for route in plan.routes:
        pay = cells[route.technician_id, route.day].pay_factor
        total += route.drive_s + prices.waiting * route.wait_s + int(pay * route.overtime_s)
    for route, stop, demand in _stops(problem, plan):
        total += _departure_price_s(problem, demand, cells[route.technician_id, route.day])
        done.update(dict.fromkeys(stop.upkeep_ids, route.day))
    for demand in problem.demands:
        left_out = {one.visit_id for one in plan.unplaced}
        for visit_id, kept in zip_longest(demand.visit_ids, demand.kept):
            times = 100 if kept else 1  # what must stay is left out for no other's sake
            if visit_id in left_out:
                total += times * round(prices.unplaced_s * demand.importance)
        total += sum(_upkeep_price_s(problem, demand, item, done) for item in demand.upkeep)
    return total


def _departure_price_s(problem: Problem, demand: Demand, cell: Cell) -> int:
    """Another technician and another weekday than usual are paid for; what is forbidden never is.

    Days off the rhythm beyond the first cost a 36th of another weekday, times them and again.
    The price of the forbidden is beyond all others (2 to the 60th), for a plan edited by hand.
    """
    prices, who = problem.prices, demand.usual_technician_id
    other = who is not None and who != cell.technician_id
    elsewhere = any(
        one is not None and one[1] == cell.day and one[0] != cell.technician_id
        for one in demand.kept
    )
    barred = cell.technician_id in demand.unwanted_technician_ids or cell.crew < demand.crew
    if (other and demand.technician_locked) or elsewhere or barred:
        return 1 << 60
    moved = demand.usual_weekdays and cell.day.weekday() not in demand.usual_weekdays
    far = max(1, dict(demand.off_rhythm).get(cell.day, 0)) - 1
    far_s = far * far * prices.day_change_s // 36
    return other * prices.technician_change_s + bool(moved) * prices.day_change_s + far_s


def _upkeep_price_s(
    problem: Problem, demand: Demand, item: UpkeepDue, done: Mapping[str, date]
) -> int:
    """Nothing in time, something late; put off the dearer the nearer its latest day is."""
    prices = problem.prices
    if item.id in done:
        return prices.upkeep_late_s if done[item.id] > item.latest_on else 0
    if item.latest_on < demand.next_visit_on:
        return prices.put_off_too_late_s
    whole_days = max(1, (item.latest_on - item.due_on).days)
    gone = min(1.0, (demand.next_visit_on - item.due_on).days / whole_days)
    return prices.put_off_first_s + round(gone * (prices.put_off_last_s - prices.put_off_first_s))


def _hours_price_s(problem: Problem, plan: WeekPlan, rule: Hours) -> int:
    """Overtime of a week that no day has paid already, and hours outside the band."""
    if all(cell.technician_id != rule.technician_id for cell in problem.cells):
        return 0
    own = [route for route in plan.routes if route.technician_id == rule.technician_id]
    work_s = rule.spent_s + sum(route.end_s - route.start_s - route.break_s for route in own)
    price = 0.0
    if rule.regular_s is not None:
        unpaid_s = work_s - rule.regular_s - sum(route.overtime_s for route in own)
        price += rule.pay_factor * max(0, unpaid_s)
    if rule.target_s is not None:
        price += problem.prices.uneven * max(0, abs(work_s - rule.target_s) - rule.band_s)
    return int(price)
