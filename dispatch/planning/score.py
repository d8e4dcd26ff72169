"""What a plan costs, in seconds of driving, recomputed from the plan and the problem alone."""

from __future__ import annotations

from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Hours, Problem
from dispatch.planning.variants import cell_price_s, unplaced_price_s, upkeep_price_s


def cost_s(problem: Problem, plan: WeekPlan) -> int:
    """What the search makes small: driving and everything that has a price beside it.

    Waiting, overtime of days and weeks, hours outside their band, changed technicians and days,
    upkeep late or put off, visits unplaced. Visits and upkeep that took no part in the search (no
    way to drive there) cost nothing here.
    """
    prices = problem.prices
    total = sum(route.drive_s + prices.waiting * route.wait_s for route in plan.routes)
    total += sum(_hours_s(problem, plan, rule) for rule in problem.hours)
    done = {}
    for route in plan.routes:
        cell = problem.cell_of[route.technician_id, route.day]
        total += int(cell.pay_factor * route.overtime_s)
        for stop in route.stops:
            total += cell_price_s(problem.demand_of[stop.visit_id], cell, prices)
            done.update(dict.fromkeys(stop.upkeep_ids, route.day))
    for demand in problem.demands:
        for item in demand.upkeep:
            total += upkeep_price_s(item, done.get(item.id), demand, prices)
    for one in plan.unplaced:
        if one.visit_id in problem.demand_of:
            demand = problem.demand_of[one.visit_id]
            total += unplaced_price_s(demand, demand.visit_ids.index(one.visit_id), prices)
    return total


def _hours_s(problem: Problem, plan: WeekPlan, rule: Hours) -> int:
    """Price of one technician's week: overtime that no day has paid yet, and unevenness."""
    own = [route for route in plan.routes if route.technician_id == rule.technician_id]
    if all(cell.technician_id != rule.technician_id for cell in problem.cells):
        return 0
    work_s = rule.spent_s + sum(route.work_s for route in own)
    price = 0.0
    if rule.regular_s is not None:
        paid_s = sum(route.overtime_s for route in own)
        price += rule.pay_factor * max(0, work_s - rule.regular_s - paid_s)
    if rule.target_s is not None:
        outside_s = abs(work_s - rule.target_s) - rule.band_s
        price += problem.prices.uneven * max(0, outside_s)
    return int(price)
