"""The technician's day: ordered stops with what is needed at each gate."""

from __future__ import annotations

from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from api.deps import DayPath, ReadSession, SettingsDep
from api.pages.templating import render
from dispatch.actions.loads import truck_load
from dispatch.actions.read_plan import day_sheet
from dispatch.clock import IsoWeek

router = APIRouter()

USUAL_CAUTIONS = (
    "These are general figures. The product label, the safety data sheet, the equipment maker's "
    "manual, local codes and a licensed professional come first. Test before dosing; add less "
    "than computed, circulate, retest.",
    "Never mix or store together acid and chlorine, or two kinds of dry chlorine. Add acid to "
    "water, never water to acid. Goggles and gloves on, nobody in the pool, wind at your back.",
    "Pump and heater off and power isolated before moving a filter valve, opening a filter, pump "
    "or cell. Release pressure first. Electrical bonding, gas and mains work: licensed trade only.",
    "Loose, cracked or missing drain cover: close the pool and report. Cannot see the main drain: "
    "close the pool.",
    "Thunder: stop, take shelter, wait 30 minutes after the last. Heat: water, shade, breaks; "
    "report dizziness.",
)


@router.get("/day/{technician_id}/{day}")
def show_day(
    request: Request, session: ReadSession, settings: SettingsDep, technician_id: str, day: DayPath
) -> HTMLResponse:
    """One technician's ordered stops of one day."""
    sheet = day_sheet(session, settings, technician_id, day)
    too_much = truck_load(session, settings, technician_id, day).violations if sheet.route else ()
    return render(
        request,
        "day.html",
        sheet=sheet,
        too_much=too_much,
        week=IsoWeek.of(day),
        day_before=day - timedelta(days=1),
        day_after=day + timedelta(days=1),
        is_today=day == settings.today(),
        cautions=USUAL_CAUTIONS,
    )
