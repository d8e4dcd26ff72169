"""The technician's day: ordered stops with what is needed at each gate."""

from __future__ import annotations

from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import CallerDep, DayPath, PersonDep, ReadSession, SettingsDep
from api.pages.templating import render
from dispatch.actions.gate_codes import opened_sheet
from dispatch.actions.paper_day import paper_day
from dispatch.actions.working_day import day_of_work, working_day
from dispatch.clock import IsoWeek
from dispatch.people import Role

router = APIRouter()


@router.get("/day")
def show_running_day(
    session: ReadSession, settings: SettingsDep, person: PersonDep
) -> RedirectResponse:
    """Lead to the day that is worked on now, which a night shift keeps until it ends."""
    if person.role is Role.TECHNICIAN and person.technician_id:
        day = working_day(session, settings, person.technician_id)
        return RedirectResponse(f"/day/{person.technician_id}/{day}", 307)
    return RedirectResponse(f"/day/{day_of_work(session, settings)}", 307)


@router.get("/day/{technician_id}/{day}")
def show_day(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    caller: CallerDep,
    technician_id: str,
    day: DayPath,
) -> HTMLResponse:
    """One technician's ordered stops of one day, as published, or as planned before that."""
    found = paper_day(session, settings, technician_id, day)
    sheet, load = found.sheet, found.load
    return render(
        request,
        "day.html",
        sheet=opened_sheet(session, settings, caller, sheet),
        has_code={row.site.id for row in sheet.stops if row.site.gate_code},
        too_much=load.violations if load else (),
        is_published=found.version > 0,
        changes=found.changes,
        zone=settings.zone,
        week=IsoWeek.of(day),
        day_before=day - timedelta(days=1),
        day_after=day + timedelta(days=1),
        is_today=day == settings.today(),
        under_way=working_day(session, settings, technician_id),
        cautions=found.cautions,
    )
