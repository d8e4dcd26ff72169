"""What a plan costs, in seconds of driving, recomputed from the plan and the problem alone."""

from __future__ import annotations

from dispatch.planning.arrays import cell_price_s, upkeep_price_s
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Problem


def cost_s(problem: Problem, plan: WeekPlan) -> int:
    """Driving and waiting, changed technicians and days, upkeep late or put off, visits unplaced.

    Visits and upkeep that took no part in the search (no way to drive there) cost nothing here.
    """
    prices = problem.prices
    total = sum(route.drive_s + prices.waiting * route.wait_s for route in plan.routes)
    done = {}
    for route in plan.routes:
        cell = problem.cell_of[route.technician_id, route.day]
        for stop in route.stops:
            total += cell_price_s(problem.demand_of[stop.visit_id], cell, prices)
            done.update(dict.fromkeys(stop.upkeep_ids, route.day))
    for demand in problem.demands:
        for item in demand.upkeep:
            total += upkeep_price_s(item, done.get(item.id), demand, prices)
    left_out = sum(one.visit_id in problem.demand_of for one in plan.unplaced)
    return total + prices.unplaced_s * left_out
