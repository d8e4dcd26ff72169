"""What to look at before a week is published, point by point.

A point is good, worth a look, or wrong. Nothing here is taken from what a plan says of itself:
broken rules come from `planning.check`, holds and closed days from the book.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dispatch.clock import WEEKDAYS
from dispatch.edits.words import Names, sentence_of
from dispatch.planning.check import Violation
from dispatch.planning.plan import Route, Rule, Stop, WeekPlan
from dispatch.planning.problem import Problem
from dispatch.sites import Hold
from dispatch.upkeep import UpkeepDue

TIMES = frozenset({Rule.OVERFULL, Rule.HOURS, Rule.BREAK, Rule.SHIFT})
VISITS = frozenset({Rule.COUNT, Rule.DAY, Rule.GAP})
LOADS = frozenset({Rule.PAYLOAD, Rule.CHEMICALS})
LEAST_SLACK_S = 15 * 60  # a day with less free time is worth a look (our own choice)


class State(StrEnum):
    """How a point stands."""

    GOOD = "good"
    LOOK = "look"
    WRONG = "wrong"


@dataclass(frozen=True, slots=True)
class Point:
    """One point of the list: its question, how it stands, the answer, and what is behind it."""

    name: str
    question: str
    state: State
    answer: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Facts:
    """What the list is made from.

    `problem` is the week as it is owed now; `upkeep` by id, as planned; `outdated` tells that the
    book has changed since the plan was made; `left_out` are visits that are not due any more.
    """

    problem: Problem
    plan: WeekPlan
    broken: Sequence[Violation]
    holds: Sequence[Hold]
    closed: Mapping[date, str]
    upkeep: Mapping[str, UpkeepDue]
    names: Names
    outdated: bool
    left_out: Sequence[str] = ()


def check_list(facts: Facts) -> tuple[Point, ...]:
    """Every point, in the order in which a dispatcher would go through them."""
    return (
        _up_to_date(facts),
        _visits(facts),
        _unplaced(facts),
        _holds(facts),
        _hours(facts),
        _agreed(facts),
        _changes(facts),
        _upkeep(facts),
        _loads(facts),
        _put_off(facts),
        _slack(facts),
    )


def _up_to_date(facts: Facts) -> Point:
    lost = tuple(f"{facts.names.subject(one)} is not due any more." for one in facts.left_out)
    answer = (
        "Customers, technicians, holds or the map have changed since."
        if facts.outdated or lost
        else "Nothing it was made from has changed."
    )
    state = State.WRONG if facts.outdated or lost else State.GOOD
    return Point("up-to-date", "Is the plan up to date?", state, answer, lost)


def _visits(facts: Facts) -> Point:
    lines = _sentences(facts, VISITS)
    owed = len(facts.problem.demand_of) + len(facts.problem.undrivable)
    answer = f"{len(lines)} not as agreed." if lines else f"All {owed} are in the plan, none twice."
    return Point(
        "visits",
        "Has every customer the visits agreed, and none twice?",
        State.WRONG if lines else State.GOOD,
        answer,
        lines,
    )


def _unplaced(facts: Facts) -> Point:
    lines = tuple(
        f"{facts.names.subject(one.visit_id)}: {one.reason}" for one in facts.plan.unplaced
    )
    answer = f"{len(lines)} without a place." if lines else "Every visit has a place."
    state = State.LOOK if lines else State.GOOD
    return Point("unplaced", "Which visits have no place, and why?", state, answer, lines)


def _holds(facts: Facts) -> Point:
    week = facts.problem.week
    here = [
        one for one in facts.holds if one.first_day <= week.sunday and week.monday <= one.last_day
    ]
    wrong = [
        f"{facts.names.subject(stop.visit_id)} is visited on {_day(route.day)}, in its hold."
        for route, stop in _stops(facts.plan)
        for hold in here
        if hold.site_id == stop.site_id and hold.first_day <= route.day <= hold.last_day
    ]
    wrong += [
        f"{facts.names.technician(route.technician_id)} is out on {_day(route.day)}, "
        f"{facts.closed[route.day]}."
        for route in facts.plan.routes
        if route.stops and route.day in facts.closed
    ]
    honoured = f"{_count(here, 'hold')} and {_count(facts.closed, 'holiday')} of this week"
    return Point(
        "holds",
        "Are holds and holidays honoured?",
        State.WRONG if wrong else State.GOOD,
        f"{len(wrong)} not honoured." if wrong else f"{honoured} are honoured.",
        tuple(wrong),
    )


def _hours(facts: Facts) -> Point:
    wrong = _sentences(facts, TIMES)
    lines = wrong + tuple(_week_of(facts, name) for name in _out(facts.plan))
    answer = f"{len(wrong)} beyond what is allowed." if wrong else "Nobody is over hours."
    return Point(
        "hours",
        "Is anybody over hours, with drive, meal and the way back counted?",
        State.WRONG if wrong else State.GOOD,
        answer,
        lines,
    )


def _week_of(facts: Facts, technician_id: str) -> str:
    own = [one for one in facts.plan.routes if one.technician_id == technician_id and one.stops]
    work_s, drive_s = sum(one.work_s for one in own), sum(one.drive_s for one in own)
    back_s = sum(one.return_drive_s for one in own)
    overtime_s = sum(one.overtime_s for one in own)
    return (
        f"{facts.names.technician(technician_id)}: {_hm(work_s)} paid in {_count(own, 'day')}, of "
        f"it {_hm(drive_s)} driving with {_hm(back_s)} back home; meals {_hm(_meals_s(own))}"
        + (f"; overtime {_hm(overtime_s)}" if overtime_s else "")
        + "."
    )


def _agreed(facts: Facts) -> Point:
    lines = tuple(
        sentence_of(one, facts.names)
        for one in facts.broken
        if one.rule not in TIMES | VISITS | LOADS
    )
    return Point(
        "agreed",
        "Are time windows, skills, locks and wishes kept?",
        State.WRONG if lines else State.GOOD,
        f"{len(lines)} not kept." if lines else "All are kept.",
        lines,
    )


def _changes(facts: Facts) -> Point:
    lines = tuple(
        f"{facts.names.subject(one.visit_id)}: usually {one.usual}, this week {one.planned}. "
        f"{one.reason}"
        for one in facts.plan.changes
    )
    answer = (
        f"{_count(lines, 'visit')} away from the usual."
        if lines
        else "Every customer keeps technician and day."
    )
    state = State.LOOK if lines else State.GOOD
    return Point("changes", "Who gets another day or technician?", state, answer, lines)


def _upkeep(facts: Facts) -> Point:
    lines, late = list[str](), 0
    for route, stop in _stops(facts.plan):
        for upkeep_id in stop.upkeep_ids:
            item = facts.upkeep.get(upkeep_id)
            if item is not None:
                late += route.day > item.latest_on
                lines.append(_upkeep_line(facts, route, stop, item))
    answer = f"{_count(lines, 'piece')} of upkeep placed" + (f", {late} late." if late else ".")
    return Point(
        "upkeep",
        "Which upkeep is placed, with what minutes, parts and weight?",
        State.LOOK if late else State.GOOD,
        answer,
        tuple(lines),
    )


def _upkeep_line(facts: Facts, route: Route, stop: Stop, item: UpkeepDue) -> str:
    parts = ", ".join(f"{part.quantity:g} {part.name}" for part in item.parts)
    return (
        f"{item.title} at {facts.names.subject(stop.visit_id)}, {_day(route.day)}, "
        f"{facts.names.technician(route.technician_id)}: {item.minutes} min"
        + (f", {parts}" if parts else "")
        + (f", {item.mass_kg:.0f} kg" if item.mass_kg else "")
        + (f"; late, it was to be done by {item.latest_on}" if route.day > item.latest_on else "")
        + "."
    )


def _loads(facts: Facts) -> Point:
    wrong = _sentences(facts, LOADS)
    lines = tuple(
        f"{facts.names.technician(route.technician_id)}, {_day(route.day)}: {route.load_kg:.0f} of "
        f"{cell.payload_kg:.0f} kg."
        for route in facts.plan.routes
        if route.load_kg and (cell := facts.problem.cell_of.get((route.technician_id, route.day)))
    )
    return Point(
        "loads",
        "Can every truck carry its day?",
        State.WRONG if wrong else State.GOOD,
        f"{len(wrong)} too heavy." if wrong else "Every truck can.",
        wrong + lines,
    )


def _put_off(facts: Facts) -> Point:
    lines = tuple(
        f"{one.title} at {facts.names.sites.get(one.site_id, one.site_id)}: to be done by "
        f"{one.by}{', and no visit is left before that' if one.late else ''}. {one.reason}"
        for one in facts.plan.put_off
    )
    late = sum(one.late for one in facts.plan.put_off)
    answer = f"{_count(lines, 'piece')} of upkeep put off" + (
        f", {late} too late." if late else "."
    )
    state = State.LOOK if late else State.GOOD
    return Point("put-off", "Which upkeep is put off, and until when?", state, answer, lines)


def _slack(facts: Facts) -> Point:
    free: list[tuple[int, str]] = []
    for route in facts.plan.routes:
        cell = facts.problem.cell_of.get((route.technician_id, route.day))
        if cell is not None and route.stops:
            left_s = cell.shift.end_s - cell.shift.start_s - (route.end_s - route.start_s)
            who = facts.names.technician(route.technician_id)
            free.append((left_s, f"{who}, {_day(route.day)}: {_hm(left_s)} free."))
    tight = sum(left_s < LEAST_SLACK_S for left_s, _ in free)
    total_s = sum(max(0, left_s) for left_s, _ in free)
    answer = f"{_hm(total_s)} in {_count(free, 'route')}" + (
        f", {tight} with less than {LEAST_SLACK_S // 60} min." if tight else "."
    )
    state = State.LOOK if tight else State.GOOD
    lines = tuple(line for _, line in sorted(free))
    return Point("slack", "How much time is left free?", state, answer, lines)


def _sentences(facts: Facts, rules: Collection[Rule]) -> tuple[str, ...]:
    return tuple(sentence_of(one, facts.names) for one in facts.broken if one.rule in rules)


def _stops(plan: WeekPlan) -> Iterator[tuple[Route, Stop]]:
    for route in plan.routes:
        for stop in route.stops:
            yield route, stop


def _out(plan: WeekPlan) -> list[str]:
    return sorted({route.technician_id for route in plan.routes if route.stops})


def _meals_s(routes: Sequence[Route]) -> int:
    return sum(route.break_s for route in routes)


def _count(things: Collection[object], one: str) -> str:
    return f"{len(things)} {one}{'' if len(things) == 1 else 's'}"


def _day(day: date) -> str:
    return f"{WEEKDAYS[day.weekday()]} {day.day}"


def _hm(seconds: int) -> str:
    """Hours and minutes, as '7 h 05'; below zero with a sign."""
    minutes = abs(seconds) // 60
    sign = "-" if seconds < 0 else ""
    return (
        f"{sign}{minutes // 60} h {minutes % 60:02d}" if minutes >= 60 else f"{sign}{minutes} min"
    )
