"""What to look at before a week is published, point by point.

A point is good, worth a look, or wrong. Nothing here is taken from what a plan says of itself:
broken rules come from `planning.check`, holds and closed days from the book.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dispatch.edits.words import Names, day_words, sentence_of, time_words
from dispatch.measures import measured, told
from dispatch.planning.check import Violation
from dispatch.planning.plan import Route, Rule, Stop, WeekPlan
from dispatch.planning.problem import Problem
from dispatch.sites import Hold
from dispatch.upkeep import UpkeepDue
from dispatch.words import _, counted

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
    book has changed since the plan was made; `left_out` are visits that are not due any more,
    `off` sentences about stops on days off; masses are told in lb where `customary`, else in kg.
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
    off: tuple[str, ...] = ()
    customary: bool = False

    def mass(self, mass_kg: float) -> str:
        """A mass in words."""
        return told(mass_kg, "kg", customary=self.customary)


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
    gone = _("{subject} is not due any more.")
    lost = tuple(gone.format(subject=facts.names.subject(one)) for one in facts.left_out)
    lost = (*facts.off, *lost)
    answer = (
        _("Customers, technicians, holds or the map have changed since.")
        if facts.outdated or lost
        else _("Nothing it was made from has changed.")
    )
    state = State.WRONG if facts.outdated or lost else State.GOOD
    return Point("up-to-date", _("Is the plan up to date?"), state, answer, lost)


def _visits(facts: Facts) -> Point:
    lines = _sentences(facts, VISITS)
    owed = len(facts.problem.demand_of) + len(facts.problem.undrivable)
    answer = (
        _("{number} not as agreed.").format(number=len(lines))
        if lines
        else _("All {owed} are in the plan, none twice.").format(owed=owed)
    )
    return Point(
        "visits",
        _("Has every customer the visits agreed, and none twice?"),
        State.WRONG if lines else State.GOOD,
        answer,
        lines,
    )


def _unplaced(facts: Facts) -> Point:
    lines = tuple(
        f"{facts.names.subject(one.visit_id)}: {measured(one.reason)}"
        for one in facts.plan.unplaced
    )
    answer = (
        _("{number} without a place.").format(number=len(lines))
        if lines
        else _("Every visit has a place.")
    )
    state = State.LOOK if lines else State.GOOD
    return Point("unplaced", _("Which visits have no place, and why?"), state, answer, lines)


def _holds(facts: Facts) -> Point:
    week = facts.problem.week
    here = [
        one for one in facts.holds if one.first_day <= week.sunday and week.monday <= one.last_day
    ]
    wrong = [
        _("{subject} is visited on {day}, in its hold.").format(
            subject=facts.names.subject(stop.visit_id), day=day_words(route.day)
        )
        for route, stop in _stops(facts.plan)
        for hold in here
        if hold.site_id == stop.site_id and hold.first_day <= route.day <= hold.last_day
    ]
    wrong += [
        _("{technician} is out on {day}, {closed}.").format(
            technician=facts.names.technician(route.technician_id),
            day=day_words(route.day),
            closed=facts.closed[route.day],
        )
        for route in facts.plan.routes
        if route.stops and route.day in facts.closed
    ]
    honoured = _("{here} and {closed} of this week").format(
        here=counted("{n} hold", "{n} holds", len(here)),
        closed=counted("{n} holiday", "{n} holidays", len(facts.closed)),
    )
    return Point(
        "holds",
        _("Are holds and holidays honoured?"),
        State.WRONG if wrong else State.GOOD,
        _("{number} not honoured.").format(number=len(wrong))
        if wrong
        else _("{honoured} are honoured.").format(honoured=honoured),
        tuple(wrong),
    )


def _hours(facts: Facts) -> Point:
    wrong = _sentences(facts, TIMES)
    lines = wrong + tuple(_week_of(facts, name) for name in _out(facts.plan))
    answer = (
        _("{number} beyond what is allowed.").format(number=len(wrong))
        if wrong
        else _("Nobody is over hours.")
    )
    return Point(
        "hours",
        _("Is anybody over hours, with drive, meal and the way back counted?"),
        State.WRONG if wrong else State.GOOD,
        answer,
        lines,
    )


def _week_of(facts: Facts, technician_id: str) -> str:
    own = [one for one in facts.plan.routes if one.technician_id == technician_id and one.stops]
    work_s, drive_s = sum(one.work_s for one in own), sum(one.drive_s for one in own)
    back_s = sum(one.return_drive_s for one in own)
    overtime_s = sum(one.overtime_s for one in own)
    said = (
        _(
            "{technician}: {work} paid in {days}, of it {drive} driving with {back} back home; "
            "meals {meals}; overtime {overtime}."
        )
        if overtime_s
        else _(
            "{technician}: {work} paid in {days}, of it {drive} driving with {back} back home; "
            "meals {meals}."
        )
    )
    return said.format(
        technician=facts.names.technician(technician_id),
        work=time_words(work_s),
        days=counted("{n} day", "{n} days", len(own)),
        drive=time_words(drive_s),
        back=time_words(back_s),
        meals=time_words(_meals_s(own)),
        overtime=time_words(overtime_s),
    )


def _agreed(facts: Facts) -> Point:
    lines = tuple(
        sentence_of(one, facts.names)
        for one in facts.broken
        if one.rule not in TIMES | VISITS | LOADS
    )
    return Point(
        "agreed",
        _("Are time windows, skills, locks and wishes kept?"),
        State.WRONG if lines else State.GOOD,
        _("{number} not kept.").format(number=len(lines)) if lines else _("All are kept."),
        lines,
    )


def _changes(facts: Facts) -> Point:
    lines = tuple(
        _("{subject}: usually {usual}, this week {planned}. {reason}").format(
            subject=facts.names.subject(one.visit_id),
            usual=one.usual,
            planned=one.planned,
            reason=one.reason,
        )
        for one in facts.plan.changes
    )
    answer = (
        counted("{n} visit away from the usual.", "{n} visits away from the usual.", len(lines))
        if lines
        else _("Every customer keeps technician and day.")
    )
    state = State.LOOK if lines else State.GOOD
    return Point("changes", _("Who gets another day or technician?"), state, answer, lines)


def _upkeep(facts: Facts) -> Point:
    lines, late = list[str](), 0
    for route, stop in _stops(facts.plan):
        for upkeep_id in stop.upkeep_ids:
            item = facts.upkeep.get(upkeep_id)
            if item is not None:
                late += route.day > item.latest_on
                lines.append(_upkeep_line(facts, route, stop, item))
    answer = (
        counted(
            "{n} piece of upkeep placed, {late} late.",
            "{n} pieces of upkeep placed, {late} late.",
            len(lines),
            late=late,
        )
        if late
        else counted("{n} piece of upkeep placed.", "{n} pieces of upkeep placed.", len(lines))
    )
    return Point(
        "upkeep",
        _("Which upkeep is placed, with what minutes, parts and weight?"),
        State.LOOK if late else State.GOOD,
        answer,
        tuple(lines),
    )


def _upkeep_line(facts: Facts, route: Route, stop: Stop, item: UpkeepDue) -> str:
    parts = ", ".join(f"{part.quantity:g} {_(part.name)}" for part in item.parts)
    takes = [
        _("{minutes} min").format(minutes=item.minutes),
        parts,
        facts.mass(item.mass_kg) if item.mass_kg else "",
    ]
    said = (
        _(
            "{title} at {subject}, {day}, {technician}: {takes}; late, it was to be done "
            "by {latest}."
        )
        if route.day > item.latest_on
        else _("{title} at {subject}, {day}, {technician}: {takes}.")
    )
    return said.format(
        title=_(item.title),
        subject=facts.names.subject(stop.visit_id),
        day=day_words(route.day),
        technician=facts.names.technician(route.technician_id),
        takes=", ".join(filter(None, takes)),
        latest=item.latest_on,
    )


def _loads(facts: Facts) -> Point:
    wrong = _sentences(facts, LOADS)
    lines = tuple(
        _("{technician}, {day}: {load} of {payload}.").format(
            technician=facts.names.technician(route.technician_id),
            day=day_words(route.day),
            load=facts.mass(route.load_kg),
            payload=facts.mass(cell.payload_kg),
        )
        for route in facts.plan.routes
        if route.load_kg and (cell := facts.problem.cell_of.get((route.technician_id, route.day)))
    )
    return Point(
        "loads",
        _("Can every truck carry its day?"),
        State.WRONG if wrong else State.GOOD,
        _("{number} too heavy.").format(number=len(wrong)) if wrong else _("Every truck can."),
        wrong + lines,
    )


def _put_off(facts: Facts) -> Point:
    lines = tuple(
        (
            _("{title} at {site}: to be done by {by}, and no visit is left before that. {reason}")
            if one.late
            else _("{title} at {site}: to be done by {by}. {reason}")
        ).format(
            title=_(one.title),
            site=facts.names.sites.get(one.site_id, one.site_id),
            by=one.by,
            reason=measured(one.reason),
        )
        for one in facts.plan.put_off
    )
    late = sum(one.late for one in facts.plan.put_off)
    answer = (
        counted(
            "{n} piece of upkeep put off, {late} too late.",
            "{n} pieces of upkeep put off, {late} too late.",
            len(lines),
            late=late,
        )
        if late
        else counted("{n} piece of upkeep put off.", "{n} pieces of upkeep put off.", len(lines))
    )
    state = State.LOOK if late else State.GOOD
    return Point("put-off", _("Which upkeep is put off, and until when?"), state, answer, lines)


def _slack(facts: Facts) -> Point:
    free: list[tuple[int, str]] = []
    for route in facts.plan.routes:
        cell = facts.problem.cell_of.get((route.technician_id, route.day))
        if cell is not None and route.stops:
            left_s = cell.shift.end_s - cell.shift.start_s - (route.end_s - route.start_s)
            who = facts.names.technician(route.technician_id)
            free.append(
                (
                    left_s,
                    _("{who}, {day}: {left} free.").format(
                        who=who, day=day_words(route.day), left=time_words(left_s)
                    ),
                )
            )
    tight = sum(left_s < LEAST_SLACK_S for left_s, _ in free)
    total_s = sum(max(0, left_s) for left_s, _ in free)
    said = (
        _("{total} in {routes}, {tight} with less than {least} min.")
        if tight
        else _("{total} in {routes}.")
    )
    answer = said.format(
        total=time_words(total_s),
        routes=counted("{n} route", "{n} routes", len(free)),
        tight=tight,
        least=LEAST_SLACK_S // 60,
    )
    state = State.LOOK if tight else State.GOOD
    lines = tuple(line for _, line in sorted(free))
    return Point("slack", _("How much time is left free?"), state, answer, lines)


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
