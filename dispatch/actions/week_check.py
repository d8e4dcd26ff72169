"""Before a week is published: the check list, and what two of its plans do differently."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from sqlmodel import Session

from dispatch.actions.day_doubled import doubled_point
from dispatch.actions.day_moved import repaired_away, settled_by_repairs
from dispatch.actions.day_twice import twice_lines
from dispatch.actions.due import holiday_names
from dispatch.actions.edit_plan import names_of
from dispatch.actions.lists import ListTable
from dispatch.actions.off_days import OffDay, off_findings
from dispatch.actions.published_day import read_day
from dispatch.actions.week_desk import Desk, open_desk, open_problem, written
from dispatch.actions.week_publish import PublishedDay, free_days, published_week
from dispatch.clock import IsoWeek
from dispatch.day.moments import clock_time
from dispatch.edits.compare import Difference, Where, compare
from dispatch.edits.words import Names, day_words
from dispatch.errors import InvalidValue, NoMap, NotReady, WeekInPast
from dispatch.planning.plan import WeekPlan
from dispatch.settings import Settings
from dispatch.store import plan_versions as store
from dispatch.store.book import read_sites, read_technicians
from dispatch.store.days import read_day_events, read_published_days
from dispatch.store.plans import read_inputs_digest, read_plan
from dispatch.words import N_, _, counted

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.edits.checklist import Facts, Point

PRESENT, PROPOSAL = "present", "proposal"


@dataclass(frozen=True, slots=True)
class Compared:
    """Two plans of a week, what differs, and names by id for whoever reads it."""

    difference: Difference
    technicians: dict[str, str]
    sites: dict[str, str]

    @property
    def is_same(self) -> bool:
        """Whether the plans say the same of every visit, and have the same figures."""
        return is_same(self.difference)

    def where(self, one: Where | None) -> str:
        """Where a visit stands, in words."""
        if one is None:
            return _("no place")
        who = self.technicians.get(one.technician_id, one.technician_id)
        return f"{who}, {one.day:%a} {one.day.day}, {clock_time(one.day, one.start_s)}"


def is_same(difference: Difference) -> bool:
    """Whether two plans say the same of every visit; their prices may be of other settings."""
    before, after = difference.before, difference.after
    return not difference.moved and replace(before, cost_s=0) == replace(after, cost_s=0)


def week_check_list(
    session: Session,
    settings: Settings,
    week: IsoWeek,
    today: date,
    *,
    customary: bool = False,
) -> tuple[Point, ...]:
    """What to look at before `week` is published, point by point; raises as `open_desk`.

    Masses are told in lb where `customary`, else in kg.
    """
    from dispatch.edits.checklist import check_list
    from dispatch.edits.distances import distance_point

    desk = open_desk(session, settings, week, today)
    facts = _facts(session, settings, desk, desk.off, customary=customary)
    first, *others = check_list(facts)
    lines = _settled_lines(session, desk.plan, facts.names, today)
    days = published_week(session, desk.plan, today)
    published = _published(days, today, lines)
    twice = _twice(session, desk.plan, facts.names, today, days)
    doubled = doubled_point(session, desk.plan, facts.names, today)
    return first, published, *twice, *doubled, *others, *distance_point(facts)


def _twice(
    session: Session,
    plan: WeekPlan,
    names: Names,
    today: date,
    days: Mapping[date, PublishedDay],
    day: date | None = None,
) -> tuple[Point, ...]:
    """Visits that publishing the week, or `day` alone, leaves in the published day that has them.

    `days` are the published ones. There is no such point in most weeks.
    """
    from dispatch.edits.checklist import Point, State

    together = () if day is not None else free_days(plan.week, days)
    ahead = [one for one in plan.week.days if one >= today and day in (None, one)]
    open_ones, made = twice_lines(session, plan, ahead, names, today, together)
    lines = (*open_ones, *made)
    if not lines:
        return ()
    question = _("Does every visit come on its planned day?")
    answer = counted(
        "{n} visit stays on another published day.",
        "{n} visits stay on other published days.",
        len(lines),
    )
    return (Point("twice", question, State.WRONG if open_ones else State.LOOK, answer, lines),)


def _settled_lines(session: Session, plan: WeekPlan, names: Names, today: date) -> tuple[str, ...]:
    """Visits that the plan has on a day on which they do not come, as a repair decided."""
    lines = list[str]()
    for day in (one for one in plan.week.days if one >= today):
        settled = settled_by_repairs(session, day)
        stops = [stop for route in plan.routes if route.day == day for stop in route.stops]
        for stop in stops:
            one = settled.get(stop.visit_id)
            if one is None:
                continue
            said = _(
                "{site} is planned for {day}, but a repair of {was_on} brought it to {to_day}, and "
                "there it comes."
            )
            if one.to_day is None:
                said = _(
                    "{site} is planned for {day}, but a repair of {was_on} called it off: nobody "
                    "comes."
                )
            lines.append(
                said.format(
                    site=names.subject(stop.visit_id),
                    day=day_words(day),
                    was_on=day_words(one.was_on),
                    to_day=day_words(one.to_day),
                )
            )
    return tuple(lines)


def _facts(
    session: Session,
    settings: Settings,
    desk: Desk,
    off: Iterable[OffDay],
    *,
    customary: bool = False,
) -> Facts:
    """What the check list is made from, with the days off that it is to name."""
    from dispatch.edits.checklist import Facts
    from dispatch.edits.draft import draft_of

    problem = open_problem(settings, desk)
    done = written(desk, problem, draft_of(desk.plan.routes))
    return Facts(
        problem=problem,
        plan=desk.plan,
        broken=done.broken,
        holds=desk.inputs.holds,
        closed=holiday_names(settings, desk.week),
        upkeep=desk.upkeep,
        names=names_of(desk, done.plan),
        outdated=read_inputs_digest(session, desk.week) != desk.inputs.digest,
        left_out=done.left_out,
        off=tuple(one.sentence for one in off_findings(off)),
        customary=customary,
    )


def check_ready(session: Session, settings: Settings, week: IsoWeek, today: date) -> None:
    """Refuse to go on where a point of the check list is wrong.

    A week that is over, or that nobody can reckon without a street map, is not checked. A day off
    that publishing alone puts right is nothing to put right before.

    Raises
    ------
    NotReady
        With the points that are wrong.
    NotFound
        When the week has no plan.
    """
    wrong = _wrong(session, settings, week, today)
    if wrong:
        raise NotReady(
            counted(
                "{n} point should be put right before week {week} is published: {points} Put it "
                "right, or publish anyway.",
                "{n} points should be put right before week {week} is published: {points} Put them "
                "right, or publish anyway.",
                len(wrong),
                week=week,
                points=" ".join(_said(point) for point in wrong),
            ),
            wrong,
            command=f"dispatch week check {week}",
        )


def check_day_ready(session: Session, settings: Settings, day: date, today: date) -> None:
    """Refuse to go on where a rule is broken on `day`, whatever is wrong on other days.

    Raises as `check_ready` does.
    """
    wrong = _wrong(session, settings, IsoWeek.of(day), today, day)
    if wrong:
        raise NotReady(
            _("{day} is not in order: {points} Put it right, or publish the day anyway.").format(
                day=day, points=" ".join(line for point in wrong for line in point.lines)
            ),
            wrong,
            command=f"dispatch week check {IsoWeek.of(day)}",
        )


def _wrong(
    session: Session, settings: Settings, week: IsoWeek, today: date, day: date | None = None
) -> tuple[Point, ...]:
    """The points that are wrong before the week is published, or `day` of it alone."""
    from dispatch.edits.checklist import State, check_list

    try:
        desk = open_desk(session, settings, week, today)
        facts = _facts(session, settings, desk, [one for one in desk.off if one.planned])
    except (WeekInPast, NoMap):
        return ()
    if day is not None:
        off = [one for one in desk.off if one.planned and one.day == day]
        facts = _of_day(facts, day, off)
        facts = replace(facts, off=(*facts.off, *_out(session, facts, day)))
    days = published_week(session, desk.plan, today) if day is None else {}
    twice = _twice(session, desk.plan, facts.names, today, days, day)
    twice += doubled_point(session, desk.plan, facts.names, today, day)
    return tuple(point for point in (*check_list(facts), *twice) if point.state is State.WRONG)


def _said(point: Point) -> str:
    """A point that is wrong, as whoever publishes the whole week is told of it."""
    told = " ".join(point.lines) if point.name == "twice" else point.answer
    return f"{point.question} {told}"


def _of_day(facts: Facts, day: date, off: Iterable[OffDay]) -> Facts:
    """What of the facts concerns `day`; that the book has changed since may be about any day."""
    routes = tuple(route for route in facts.plan.routes if route.day == day)
    here = {stop.visit_id for route in routes for stop in route.stops}
    return replace(
        facts,
        plan=replace(facts.plan, routes=routes, unplaced=(), changes=(), put_off=()),
        broken=[
            one
            for one in facts.broken
            if one.day == day or (one.day is None and one.subject in here)
        ],
        closed={at: name for at, name in facts.closed.items() if at == day},
        outdated=False,
        left_out=[one for one in facts.left_out if one in here],
        off=tuple(one.sentence for one in off_findings(off)),
    )


def _out(session: Session, facts: Facts, day: date) -> Iterator[str]:
    """Who is out on `day`, as a repair says, and would be given stops by publishing it again."""
    if day not in read_published_days(session):
        return
    state = read_day(session, day)
    away = repaired_away(state, read_day_events(session, day))
    away |= settled_by_repairs(session, day).keys()
    for route in facts.plan.routes:
        out_s = state.out_from_s.get(route.technician_id)
        stops = [one for one in route.stops if one.visit_id not in away]
        number = 0 if out_s is None else sum(one.start_s >= out_s for one in stops)
        if out_s is not None and number:
            yield counted(
                "{name} is out on {day} from {time} on, as its board says, and would be given {n} "
                "stop again: leave the day as it was repaired, or plan the stop elsewhere first.",
                "{name} is out on {day} from {time} on, as its board says, and would be given {n} "
                "stops again: leave the day as it was repaired, or plan the stops elsewhere first.",
                number,
                name=facts.names.technician(route.technician_id),
                day=day_words(day),
                time=clock_time(day, out_s),
            )


def _published(days: Mapping[date, PublishedDay], today: date, settled: tuple[str, ...]) -> Point:
    """Whether technicians have the plan as it stands; days that are over are left out."""
    from dispatch.edits.checklist import Point, State

    ahead = {day: one for day, one in days.items() if day >= today}
    lines = tuple(_(_said_of(one)).format(day=day_words(day)) for day, one in ahead.items())
    odd = [one for one in ahead.values() if one.is_changed or one.is_repaired]
    if any(one.is_changed for one in odd):
        answer = _("The plan has changed since it was published.")
    elif odd or settled:
        answer = _("Days were repaired since they were published.")
    else:
        answer = (
            _("What is published is as planned.") if days else _("No day has been published yet.")
        )
    state = State.LOOK if odd or settled else State.GOOD
    question = _("Do technicians have the plan as it stands?")
    return Point("published", question, state, answer, lines + settled)


def _said_of(one: PublishedDay) -> str:
    """How a published day stands, with a place for the day."""
    if one.is_changed and one.has_begun:
        return N_("{day}: changed since it was published, and under way: change it with a repair.")
    if one.is_changed and one.is_repaired:
        return N_(
            "{day}: changed since it was published, and repaired on the day: publishing it again "
            "puts the plan in place of the repair."
        )
    if one.is_changed:
        return N_("{day}: changed since it was published: publish it again.")
    if one.is_repaired:
        return N_("{day}: repaired on the day: its board shows it as it is driven.")
    return N_("{day}: published as planned.")


def check_table(points: Iterable[Point]) -> ListTable:
    """The check list, one row for each point and one for each line behind it."""
    rows = list[tuple[str, str, str, str]]()
    for point in points:
        rows.append((point.name, str(point.state), point.question, point.answer))
        rows.extend((point.name, "", "", line) for line in point.lines)
    return ListTable(("point", "state", "question", "answer"), tuple(rows))


def compare_plans(session: Session, week: IsoWeek, before: str, after: str) -> Compared:
    """What the plan `after` does differently from `before`.

    Each is `present`, `proposal`, or the number of a version.

    Raises
    ------
    InvalidValue
        When one is none of these.
    NotFound
        When there is no such plan.
    """
    return Compared(
        compare(_plan(session, week, before), _plan(session, week, after)),
        {one.id: one.name for one in read_technicians(session)},
        {one.id: one.name for one in read_sites(session)},
    )


def difference_list(found: Compared) -> ListTable:
    """Visits that stand elsewhere in the other plan, those that a customer notices first."""
    moved: Sequence[tuple[str, ...]] = [
        (
            one.site_id,
            found.sites.get(one.site_id, ""),
            one.visit_id,
            one.words,
            found.where(one.before),
            found.where(one.after),
        )
        for one in sorted(found.difference.moved, key=lambda one: one.words == "a few minutes")
    ]
    columns = ("site_id", "customer", "visit_id", "change", "before", "after")
    return ListTable(columns, tuple(moved))


def _plan(session: Session, week: IsoWeek, which: str) -> WeekPlan:
    if which == PRESENT:
        return read_plan(session, week)
    if which == PROPOSAL:
        return store.read_proposal(session, week)[0].plan
    if not re.fullmatch(r"[0-9]{1,9}", which):
        raise InvalidValue(
            _(
                "'{which}' is no plan to compare: write present, proposal, or the number of a "
                "version."
            ).format(which=which)
        )
    return store.read_version(session, week, int(which)).plan
