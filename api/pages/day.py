"""The technician's day: ordered stops with what is needed at each gate."""

from __future__ import annotations

from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from api.deps import CallerDep, DayPath, ReadSession, SettingsDep
from api.pages.templating import render
from dispatch.actions.day_sheet import USUAL_CAUTIONS
from dispatch.actions.gate_codes import opened_sheet
from dispatch.actions.loads import truck_load
from dispatch.actions.read_plan import day_sheet
from dispatch.clock import IsoWeek

router = APIRouter()


@router.get("/day/{technician_id}/{day}")
def show_day(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    caller: CallerDep,
    technician_id: str,
    day: DayPath,
) -> HTMLResponse:
    """One technician's ordered stops of one day."""
    sheet = day_sheet(session, settings, technician_id, day)
    too_much = truck_load(session, settings, technician_id, day).violations if sheet.route else ()
    return render(
        request,
        "day.html",
        sheet=opened_sheet(settings, caller, sheet),
        has_code={row.site.id for row in sheet.stops if row.site.gate_code},
        too_much=too_much,
        week=IsoWeek.of(day),
        day_before=day - timedelta(days=1),
        day_after=day + timedelta(days=1),
        is_today=day == settings.today(),
        cautions=USUAL_CAUTIONS,
    )
