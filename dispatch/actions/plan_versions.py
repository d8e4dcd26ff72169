"""The versions of a week's plan: made, gone back to, gone forward to, listed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.clock import IsoWeek
from dispatch.errors import ChangedMeanwhile, InvalidValue, NotFound
from dispatch.planning.plan import Route, WeekPlan
from dispatch.store import plan_versions as store
from dispatch.store.book import read_sites, read_technicians
from dispatch.store.plan_versions import KeptPlan, VersionNote
from dispatch.store.plans import read_inputs_digest, read_plan, read_plan_upkeep
from dispatch.words import _, joined

FIRST_WORDS = "Planned"


@dataclass(frozen=True, slots=True)
class Trail:
    """Where a week's plan stands: its version, and what undo and redo would do, in words.

    `undo` and `redo` are empty where there is nothing to undo or redo.
    """

    version: int
    undo: str = ""
    redo: str = ""
    who: str = ""
    at: datetime | None = None


def trail(session: Session, week: IsoWeek) -> Trail:
    """Where the plan of `week` stands."""
    notes = {note.number: note for note in store.version_notes(session, week)}
    if not notes:
        return Trail(0)
    now = notes[max(notes)]
    redo = notes.get(now.redo_to or 0)
    return Trail(
        version=now.number,
        undo=now.step if now.undo_to in notes else "",
        redo=redo.step if redo else "",
        who=now.who,
        at=now.at,
    )


def history(session: Session, week: IsoWeek) -> list[VersionNote]:
    """The versions of the plan of `week`, earliest first."""
    return store.version_notes(session, week)


def history_list(notes: Iterable[VersionNote]) -> ListTable:
    """Versions with what was done, by whom and when (UTC)."""
    rows = tuple((note.number, note.what, note.who, note.at.isoformat()) for note in notes)
    return ListTable(("version", "what", "who", "at"), rows)


def plan_version(session: Session, week: IsoWeek, number: int) -> WeekPlan:
    """The plan of `week` as it stood in a version; raises NotFound."""
    return store.read_version(session, week, number).plan


def check_version(session: Session, week: IsoWeek, version: int) -> None:
    """Raise ChangedMeanwhile unless `version` is the present one; it tells who did what since."""
    now = store.present_version(session, week)
    if now == version:
        return
    later = [note for note in store.version_notes(session, week) if note.number > version]
    deeds = "; ".join(f"{note.who or _('somebody')}: {note.what}" for note in later[-3:])
    said = (
        _(
            "The plan of week {week} stands at version {now}, and you saw version {version} "
            "({deeds}). Nothing was changed: look at the plan as it is now, then do it again."
        )
        if deeds
        else _(
            "The plan of week {week} stands at version {now}, and you saw version {version}. "
            "Nothing was changed: look at the plan as it is now, then do it again."
        )
    )
    raise ChangedMeanwhile(said.format(week=week, now=now, version=version, deeds=deeds))


def number_present(session: Session, week: IsoWeek, at: datetime) -> int:
    """Number of the present version; a plan from before versions were kept becomes the first."""
    number = store.present_version(session, week)
    if number:
        return number
    upkeep = read_plan_upkeep(session, week).values()
    digest = read_inputs_digest(session, week)
    first = KeptPlan(read_plan(session, week), tuple(upkeep), digest, (), FIRST_WORDS, "", at)
    return store.add_version(session, first)


def keep_plan(session: Session, kept: KeptPlan) -> int:
    """Make a plan the present one of its week; undo brings the one before back."""
    before = None
    try:
        before = number_present(session, kept.plan.week, kept.at)
    except NotFound:  # the first plan of the week
        before = None
    return store.add_version(session, kept, undo_to=before)


def undo(
    session: Session, week: IsoWeek, *, version: int, who: str, at: datetime, today: date
) -> int:
    """Bring back the plan as it was before the latest step; return the new version's number.

    Raises
    ------
    ChangedMeanwhile
        When `version` is not the present one.
    NotFound
        When there is nothing to undo.
    InvalidValue
        When the earlier plan names a site or technician who is gone, or would change a day that
        is over.
    """
    return _go(session, week, version=version, who=who, at=at, today=today, back=True)


def redo(
    session: Session, week: IsoWeek, *, version: int, who: str, at: datetime, today: date
) -> int:
    """Do the step again that was undone last; raises as `undo` does."""
    return _go(session, week, version=version, who=who, at=at, today=today, back=False)


def _go(
    session: Session,
    week: IsoWeek,
    *,
    version: int,
    who: str,
    at: datetime,
    today: date,
    back: bool,
) -> int:
    check_version(session, week, version)
    notes = {note.number: note for note in store.version_notes(session, week)}
    now = notes.get(version)
    target = notes.get((now.undo_to if back else now.redo_to) or 0) if now else None
    if now is None or target is None:
        deed = "undo" if back else "redo"
        raise NotFound(
            _("There is nothing to {deed} in the plan of week {week}.").format(deed=deed, week=week)
        )
    kept = store.read_version(session, week, target.number)
    _check_known(session, kept.plan)
    _check_past(read_plan(session, week), kept.plan, today)
    what = (
        _("Undone: {step}").format(step=now.step)
        if back
        else _("Redone: {step}").format(step=target.step)
    )
    return store.add_version(
        session,
        replace(kept, what=what, who=who, at=at),
        step=target.step,
        undo_to=target.undo_to,
        redo_to=version if back else target.redo_to,
    )


def _check_known(session: Session, plan: WeekPlan) -> None:
    sites = {site.id for site in read_sites(session)}
    people = {technician.id for technician in read_technicians(session)}
    named = {stop.site_id for route in plan.routes for stop in route.stops}
    named |= {one.site_id for one in plan.unplaced} | {one.site_id for one in plan.put_off}
    gone = sorted(named - sites) + sorted({route.technician_id for route in plan.routes} - people)
    if gone:
        raise InvalidValue(
            _(
                "The earlier plan of week {week} names {gone}, which the book does not hold "
                "any more: change the plan as it is now instead."
            ).format(week=plan.week, gone=joined(gone))
        )


def _check_past(now: WeekPlan, then: WeekPlan, today: date) -> None:
    def over(plan: WeekPlan) -> set[Route]:
        return {route for route in plan.routes if route.day < today and route.stops}

    if over(now) != over(then):
        raise InvalidValue(
            _(
                "The earlier plan of week {week} differs on days that are over, which nothing "
                "changes any more: change the plan as it is now instead."
            ).format(week=now.week)
        )
