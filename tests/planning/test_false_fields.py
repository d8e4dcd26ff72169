"""Any single field of a good plan that is changed to a wrong value is named, by both judges."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields, replace
from datetime import date, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.planning.check import violations
from dispatch.planning.plan import Broken, Rule, Unplaced, WeekPlan
from dispatch.planning.problem import Problem
from dispatch.planning.search import search
from dispatch.planning.week import write_plan
from tests.planning.exact.weeks import small_week
from tests.planning.test_independent_check import judged, richer, second
from tests.planning.weeks import MON, cell, demand, on_a_line, planned, problem

CHOICES = {"technician_id", "day", "visit_id", "upkeep_id", "upkeep_ids"}  # other rules name these
PARTS = ("routes", "unplaced", "put_off", "changes")
CANNOT_TELL = {"seed", "iterations"}  # any number may be true
Changed = tuple[str, WeekPlan]  # the field, and the plan with it changed


def wrong(name: str, value: Any) -> Any:
    """Another value of the same kind, one that cannot be right; no words where it gives why."""
    if name == "cells":
        return (Broken(Rule.OVERFULL, "nobody", MON, 60.0),)
    kinds: dict[type, Callable[[Any], Any]] = {
        bool: lambda it: not it,
        date: lambda it: it + timedelta(days=7),
        tuple: lambda it: (*it, "nothing"),
        str: lambda it: "" if name == "reason" else f"{it}x",
        IsoWeek: lambda it: it.next,
    }
    if type(value) in kinds:
        return kinds[type(value)](value)
    return 0 if value is None else value + 1


def spoilt(one: Any) -> Iterator[tuple[str, Any]]:
    """A part of a plan with each of its fields changed, one at a time."""
    for field in fields(one):
        if field.name not in ("stops", *PARTS, *CANNOT_TELL):
            value = wrong(field.name, getattr(one, field.name))
            yield field.name, replace(one, **{field.name: value})


def all_spoilt(plan: WeekPlan) -> Iterator[Changed]:
    """The plan with every single field of every part changed, one at a time."""
    yield from spoilt(plan)
    for part in PARTS:
        ones = getattr(plan, part)
        for n, one in enumerate(ones):
            for name, bad in spoilt(one):
                changed: Any = {part: (*ones[:n], bad, *ones[n + 1 :])}
                yield name, replace(plan, **changed)
    for r, route in enumerate(plan.routes):
        for n, stop in enumerate(route.stops):
            for name, bad in spoilt(stop):
                stops = (*route.stops[:n], bad, *route.stops[n + 1 :])
                routes = (*plan.routes[:r], replace(route, stops=stops), *plan.routes[r + 1 :])
                yield name, replace(plan, routes=routes)


def assert_every_field_is_named(week: Problem, plan: WeekPlan) -> None:
    """By the check with the name of the field; each field once by the second judge alike."""
    assert not violations(week, plan)
    seen = set[str]()
    for name, bad in all_spoilt(plan):
        found = violations(week, bad)
        named = {one.detail.split()[0] for one in found if one.rule is Rule.FALSE}
        others = {one.rule for one in found} - {Rule.FALSE}
        assert name in named or (name in CHOICES and (others or "changes" in named)), name
        assert name in seen or judged(week, bad) == second(week, bad), name
        seen.add(name)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 100_000).map(small_week).flatmap(richer))
def test_any_single_false_field_is_named(week: Problem) -> None:
    """Sites, legs, times, minutes, loads, meals, supply stops, totals, lists and reasons."""
    assert_every_field_is_named(week, write_plan(week, search(week, seed=3, iterations=60), seed=3))


def test_what_no_truck_can_reach_is_checked_as_well() -> None:
    """It takes no part in the search, and stands in every plan with its own words."""
    gone = Unplaced("S9/2026-W49/1", "S9", "There is no road.")
    week = replace(problem(on_a_line(0, 10), [cell()], [demand("S1", 1)]), undrivable=(gone,))
    plan = planned(week)
    assert_every_field_is_named(week, plan)
    (route,) = plan.routes
    sent = replace(route, stops=(*route.stops, replace(route.stops[0], visit_id=gone.visit_id)))
    found = violations(week, replace(plan, routes=(sent,), unplaced=()))
    assert [(one.rule, one.subject) for one in found] == [(Rule.DRIVE, gone.visit_id)]
