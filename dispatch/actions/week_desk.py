"""A planned week on the desk: the plan, what it is edited with, what is locked, what is kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.actions.off_days import OffDay, off_days
from dispatch.actions.published_day import read_day
from dispatch.actions.week_inputs import Inputs, check_not_over, laid_out, read_inputs
from dispatch.clock import IsoWeek
from dispatch.day.state import has_begun
from dispatch.edits.locks import Kept, Lock, LockKind, kept_by
from dispatch.errors import InvalidValue
from dispatch.planning.plan import WeekPlan
from dispatch.settings import Settings
from dispatch.standing.changes import announced
from dispatch.store import plan_versions as store
from dispatch.store.book import read_technicians
from dispatch.store.days import read_published_routes
from dispatch.store.plans import read_plan, read_plan_upkeep
from dispatch.upkeep import UpkeepDue
from dispatch.words import _

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.edits.draft import CellKey, Draft
    from dispatch.edits.write_down import Written
    from dispatch.planning.check import Violation
    from dispatch.planning.problem import Problem


@dataclass(frozen=True, slots=True)
class Desk:
    """What a week's plan is edited with, read in one go.

    `upkeep` by id holds what the plan was made with and what is due now; `published` the routes
    that technicians have been given; `off` who has stops on a day off; `under_way` the days that
    have begun, and are only repaired.
    """

    week: IsoWeek
    today: date
    plan: WeekPlan
    version: int
    upkeep: dict[str, UpkeepDue]
    inputs: Inputs
    locks: tuple[Lock, ...]
    published: frozenset[CellKey]
    off: tuple[OffDay, ...]
    under_way: frozenset[date]

    @property
    def over(self) -> frozenset[CellKey]:
        """Cells of the plan that nothing changes any more; a day under way is only repaired."""
        keys = ((route.technician_id, route.day) for route in self.plan.routes)
        past = frozenset(key for key in keys if key[1] < self.today)
        return past | {one.key for one in self.off if one.is_under_way}


def open_desk(session: Session, settings: Settings, week: IsoWeek, today: date) -> Desk:
    """Read everything that the plan of `week` is edited with.

    Raises
    ------
    WeekInPast
        When the week is over.
    NotFound
        When it has no plan.
    NoMap
        Without a street map.
    """
    check_not_over(week, today)
    plan = read_plan(session, week)
    inputs = read_inputs(session, settings, week, today)
    upkeep = read_plan_upkeep(session, week) | {one.id: one for one in inputs.upkeep}
    published = read_published_routes(session, week.days)
    ahead = {day for _, day in published if day >= today}
    return Desk(
        week=week,
        today=today,
        plan=plan,
        version=store.present_version(session, week),
        upkeep=upkeep,
        inputs=inputs,
        locks=tuple(store.read_locks(session, week)),
        published=published,
        off=off_days(session, settings, plan, inputs.technicians, today),
        under_way=frozenset(day for day in ahead if has_begun(read_day(session, day))),
    )


def open_problem(settings: Settings, desk: Desk) -> Problem:
    """What may still be edited: the week as it is owed, without the days that are over.

    It is seen as on its Monday, so that visits keep their names while the week goes by; raises as
    `plan_week` does before it searches.
    """
    from dispatch.edits.fixed import without_routes

    whole = whole_week(settings, desk)
    over = {key for key in whole.cell_of if key[1] < desk.today}
    past = [one for one in desk.plan.routes if (one.technician_id, one.day) in desk.over]
    return without_routes(whole, over, past) if over or past else whole


def whole_week(settings: Settings, desk: Desk) -> Problem:
    """The week as it is owed, seen as on its Monday, with the days that are over."""
    return laid_out(settings, desk.week, min(desk.today, desk.week.monday), desk.inputs)


def written(desk: Desk, problem: Problem, draft: Draft) -> Written:
    """A draft as a plan, with standing changes told as a plan of the search tells them.

    Why a visit has no place heeds what planning leaves alone.
    """
    from dataclasses import replace

    from dispatch.edits.room import with_kept_told
    from dispatch.edits.write_down import write_draft

    done = write_draft(problem, draft, desk.plan, desk.over)
    kept = _left_alone(desk, problem, draft, done.broken).cells
    told = with_kept_told(problem, done.plan, kept, desk.published, desk.under_way)
    names = {one.id: one.name for one in desk.inputs.technicians}
    plan = announced(told, desk.inputs.standing, desk.inputs.sites, names)
    return replace(done, plan=plan)


def as_it_stands(desk: Desk, problem: Problem) -> tuple[Draft, WeekPlan, Kept]:
    """What planning again begins with: the plan as a draft and written down, and what stays."""
    from dispatch.edits.draft import draft_of

    draft = draft_of(desk.plan.routes)
    present = written(desk, problem, draft)
    return draft, present.plan, _left_alone(desk, problem, draft, present.broken)


def _left_alone(desk: Desk, problem: Problem, draft: Draft, broken: Sequence[Violation]) -> Kept:
    """What planning again leaves as it is: published routes, days under way, what is locked."""
    alone = desk.published | {key for key in problem.cell_of if key[1] in desk.under_way}
    return kept_by(desk.locks, draft, broken, alone, problem.cell_of)


def locks(session: Session, week: IsoWeek) -> list[Lock]:
    """The locks of `week`."""
    return store.read_locks(session, week)


def lock(session: Session, week: IsoWeek, what: Lock) -> None:
    """Lock a stop, a day or a route of `week`, against planning again.

    Raises
    ------
    InvalidValue
        When the day is not of the week, there is no such technician, or the plan has no such visit.
    NotFound
        When a visit is to be locked and the week has no plan.
    """
    if what.day is not None and what.day not in week.days:
        raise InvalidValue(
            _("The day {day} is not in week {week}: lock it in its own week.").format(
                day=what.day, week=week
            )
        )
    known = {one.id for one in read_technicians(session)}
    if what.technician_id is not None and what.technician_id not in known:
        raise InvalidValue(
            _(
                "There is no technician '{technician}'. The list of technicians shows the ids."
            ).format(technician=what.technician_id),
            command="dispatch technicians list",
        )
    if what.kind is LockKind.STOP and what.visit_id not in _placed(read_plan(session, week)):
        raise InvalidValue(
            _(
                "The visit '{visit}' stands in no route of week {week}, so there is no place "
                "to lock: place it first."
            ).format(visit=what.visit_id, week=week)
        )
    store.write_lock(session, week, what)


def unlock(session: Session, week: IsoWeek, what: Lock) -> None:
    """Take a lock away; nothing happens where there is none."""
    store.delete_lock(session, week, what)


def lock_list(found: Iterable[Lock]) -> ListTable:
    """Locks with their kind and what they hold."""
    rows = tuple((str(one.kind), one.visit_id, one.technician_id, one.day) for one in found)
    return ListTable(("kind", "visit_id", "technician_id", "day"), rows)


def _placed(plan: WeekPlan) -> set[str]:
    return {stop.visit_id for route in plan.routes for stop in route.stops}
