"""The check against a second judge, over plans of every kind, most of them broken."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.planning.check import Violation, violations
from dispatch.planning.placed import Placed
from dispatch.planning.plan import Route, Rule, Stop, WeekPlan
from dispatch.planning.problem import Hours, Problem, Supply
from dispatch.planning.search import Assignment, search
from dispatch.planning.week import write_plan
from dispatch.sites import TimeWindow
from tests.planning.exact.weeks import small_week
from tests.planning.independent_check import Finding, findings
from tests.planning.test_invariants import weeks

seeds = st.integers(0, 100_000)


@st.composite
def richer(draw: st.DrawFn, week: Problem) -> Problem:
    """A week with the rules that only some companies have."""
    noon, share = 12 * 3600, st.integers(0, 2)
    cells = tuple(
        replace(
            one,
            slack_s=draw(share) * 1200,
            overtime_s=draw(share) * 1800,
            crew=1 + draw(share) // 2,
            chemicals_most_kg=30.0,
            supply=draw(st.none() | st.just(Supply(one.end, 900))),
        )
        for one in week.cells
    )
    demands = tuple(
        replace(
            one,
            windows=(TimeWindow(8 * 3600, noon - 7200), TimeWindow(noon, noon + 3600))
            if draw(st.booleans())
            else one.windows,
            chemicals_kg=float(draw(share) * 8),
            crew=1 + draw(share) // 2,
            unwanted_technician_ids=frozenset({"T1"} if draw(share) == 2 else ()),
            extra_s=(600,) * len(one.visit_ids) if draw(share) == 2 else (),
            kept=(("T0", one.patterns[0][0]), *[None] * (len(one.visit_ids) - 1))
            if draw(share) == 2
            else (),
        )
        for one in week.demands
    )
    hours = tuple(Hours(name, most_s=draw(share) * 9000) for name in ("T0", "T1"))
    return replace(week, cells=cells, demands=demands, hours=hours)


all_weeks = st.one_of(weeks(), seeds.map(small_week), seeds.map(small_week).flatmap(richer))


def judged(week: Problem, plan: WeekPlan) -> Counter[Finding]:
    """What the check finds, in the words of the second judge."""
    return Counter(
        (one.rule, named(one), one.technician_id, one.day, written(one.amount))
        for one in violations(week, plan)
    )


def written(amount: float) -> float:
    """An amount in twelve digits: the price of what is forbidden has more than a float can hold."""
    return float(f"{amount:.12g}")


def named(one: Violation) -> str:
    """Whom a violation is about, with the field where one is false."""
    return f"{one.subject}: {one.detail.split()[0]}" if one.rule is Rule.FALSE else one.subject


def second(week: Problem, plan: WeekPlan) -> Counter[Finding]:
    found: Counter[Finding] = Counter()
    for (*words, amount), times in findings(week, plan).items():
        found[(*words, written(amount))] += times  # type: ignore[index]
    return found


@st.composite
def assignments(draw: st.DrawFn, week: Problem) -> Assignment:
    """Visits thrown into any truck-days in any order, with any upkeep on them."""
    routes: list[list[Placed]] = [[] for _ in week.cells]
    for n, demand in enumerate(week.demands):
        rider_of = [draw(st.integers(-1, len(demand.visit_ids) - 1)) for _ in demand.upkeep]
        for visit in range(len(demand.visit_ids)):
            if not routes or draw(st.integers(0, 4)) == 0:
                continue
            riders = tuple(k for k, where in enumerate(rider_of) if where == visit)
            route = routes[draw(st.integers(0, len(routes) - 1))]
            route.insert(draw(st.integers(0, len(route))), Placed(n, visit, riders))
    return Assignment(tuple(tuple(route) for route in routes), 0, 0)


@settings(max_examples=150, deadline=None)
@given(st.data(), all_weeks)
def test_both_judges_agree_on_any_order_of_any_visits(data: st.DataObject, week: Problem) -> None:
    """Times are true; windows, shifts, meals, locks, skills, patterns and loads break at will."""
    plan = write_plan(week, data.draw(assignments(week)), seed=0)
    assert judged(week, plan) == second(week, plan)


@st.composite
def edited(draw: st.DrawFn, plan: WeekPlan) -> WeekPlan:
    """A plan spoilt by hand, once or a few times."""
    routes = [route for route in plan.routes if route.stops]
    for _ in range(draw(st.integers(1, 3))):
        full = [n for n, route in enumerate(routes) if route.stops]
        if not full:
            break
        r = draw(st.sampled_from(full))
        n = draw(st.integers(0, len(routes[r].stops) - 1))
        deed = draw(st.sampled_from(["move", "swap", "lose", "double", "time", "end", "day"]))
        if deed == "move":
            other = draw(st.integers(0, len(routes) - 1))
            stop = routes[r].stops[n]
            routes[r] = _without(routes[r], n)
            routes[other] = _with(routes[other], stop)
        elif deed == "day":
            routes.append(replace(routes[r], day=draw(st.sampled_from(plan.week.days))))
        else:
            routes[r] = _spoilt(routes[r], n, deed)
    return replace(plan, routes=tuple(routes))


def _spoilt(route: Route, n: int, deed: str) -> Route:
    """A route with one thing wrong about its stop number n, or its end."""
    stops = list(route.stops)
    if deed == "lose":
        return _without(route, n)
    if deed == "double":
        return _with(route, stops[n])
    if deed == "end":
        return replace(route, end_s=route.end_s + 60)
    if deed == "swap":
        stops[n], stops[0] = stops[0], stops[n]
    else:
        stops[n] = replace(stops[n], start_s=stops[n].start_s + 1)
    return replace(route, stops=tuple(stops))


def _without(route: Route, n: int) -> Route:
    return replace(route, stops=route.stops[:n] + route.stops[n + 1 :])


def _with(route: Route, stop: Stop) -> Route:
    return replace(route, stops=(*route.stops, stop))


@settings(max_examples=150, deadline=None)
@given(st.data(), all_weeks)
def test_both_judges_agree_on_plans_spoilt_by_hand(data: st.DataObject, week: Problem) -> None:
    """A plan that was good, then edited without timing it anew."""
    good = write_plan(week, search(week, seed=3, iterations=40), seed=3)
    plan = data.draw(edited(good))
    assert judged(week, plan) == second(week, plan)
