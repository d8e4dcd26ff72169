"""The forms of the week's desk, its check list, and two of its plans side by side."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import PersonDep, ReadSession, SettingsDep, UnitsDep, WeekPath, WriteSession
from api.pages.templating import render
from dispatch.actions import edit_plan, plan_again, plan_versions, week_check, week_desk
from dispatch.clock import IsoWeek
from dispatch.edits.locks import Lock, LockKind
from dispatch.edits.moves import Carry

router = APIRouter()
Version = Annotated[int, Form(ge=0)]
Mark = Annotated[str, Form(description="of the proposal that was compared")]


def entered_lock(
    kind: Annotated[LockKind, Form()],
    visit_id: Annotated[str, Form()] = "",
    technician_id: Annotated[str, Form()] = "",
    day: Annotated[date | None, Form()] = None,
) -> Lock:
    """The lock that a form names."""
    return Lock(kind, visit_id or None, technician_id or None, day)


LockEntered = Annotated[Lock, Depends(entered_lock)]


@router.get("/week/{week}/check")
def show_check_list(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    units: UnitsDep,
    week: WeekPath,
) -> HTMLResponse:
    """What to look at before the week is published."""
    today, customary = settings.today(), units.customary
    points = week_check.week_check_list(session, settings, week, today, customary=customary)
    version = plan_versions.trail(session, week).version
    return render(request, "week_check.html", week=week, points=points, version=version)


@router.get("/week/{week}/compare")
def show_comparison(
    request: Request,
    session: ReadSession,
    week: WeekPath,
    before: str = "",
    after: str = week_check.PRESENT,
) -> HTMLResponse:
    """Two plans of the week side by side; at first the plan before the latest step and this one."""
    notes = plan_versions.history(session, week)
    numbers = [note.number for note in notes]
    chosen = before or (str(numbers[-2]) if len(numbers) > 1 else week_check.PRESENT)
    return render(
        request,
        "week_compare.html",
        week=week,
        notes=list(reversed(notes)),
        before=chosen,
        after=after,
        found=week_check.compare_plans(session, week, chosen, after),
        has_proposal=plan_again.has_proposal(session, week),
    )


@router.post("/week/{week}/carry")
def carry(
    request: Request,
    settings: SettingsDep,
    person: PersonDep,
    week: WeekPath,
    version: Version,
    upkeep_id: Annotated[str, Form()],
    visit_id: Annotated[str, Form()] = "",
) -> RedirectResponse:
    """Put upkeep on a visit, or off to a later week where none is named, and show the week."""
    edit_plan.edit_plan(
        request.app.state.engine,
        settings,
        week,
        [Carry(upkeep_id, visit_id or None)],
        version=version,
        who=person.name,
        at=settings.now(),
        today=settings.today(),
    )
    return RedirectResponse(f"/week/{week}#upkeep", 303)


@router.post("/week/{week}/undo")
def undo(
    session: WriteSession,
    settings: SettingsDep,
    person: PersonDep,
    week: WeekPath,
    version: Version,
) -> RedirectResponse:
    """Undo the latest step and show the week."""
    at, today = settings.now(), settings.today()
    plan_versions.undo(session, week, version=version, who=person.name, at=at, today=today)
    return _back(week)


@router.post("/week/{week}/redo")
def redo(
    session: WriteSession,
    settings: SettingsDep,
    person: PersonDep,
    week: WeekPath,
    version: Version,
) -> RedirectResponse:
    """Do the step again that was undone last, and show the week."""
    at, today = settings.now(), settings.today()
    plan_versions.redo(session, week, version=version, who=person.name, at=at, today=today)
    return _back(week)


@router.post("/week/{week}/locks")
def add_lock(session: WriteSession, week: WeekPath, lock: LockEntered) -> RedirectResponse:
    """Lock a stop, a day or a route, and show the week."""
    week_desk.lock(session, week, lock)
    return _back(week)


@router.post("/week/{week}/locks/remove")
def remove_lock(session: WriteSession, week: WeekPath, lock: LockEntered) -> RedirectResponse:
    """Take a lock away and show the week."""
    week_desk.unlock(session, week, lock)
    return _back(week)


@router.post("/week/{week}/proposal/take")
def take_proposal(
    session: WriteSession,
    settings: SettingsDep,
    person: PersonDep,
    week: WeekPath,
    version: Version,
    proposal: Mark = "",
) -> RedirectResponse:
    """Make the proposal the plan and show it."""
    at = settings.now()
    plan_again.take_proposal(session, week, version=version, who=person.name, at=at, mark=proposal)
    return _back(week)


@router.post("/week/{week}/proposal/drop")
def drop_proposal(session: WriteSession, week: WeekPath, proposal: Mark = "") -> RedirectResponse:
    """Throw the proposal away and show the week."""
    plan_again.drop_proposal(session, week, mark=proposal)
    return _back(week)


def _back(week: IsoWeek) -> RedirectResponse:
    return RedirectResponse(f"/week/{week}", 303)
