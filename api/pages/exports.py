"""The page from which everything can be taken along."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from api.deps import ReadSession, SettingsDep
from api.pages.marks import marks_of
from api.pages.templating import render
from dispatch.actions import book, read_plan
from dispatch.clock import IsoWeek

router = APIRouter()


@router.get("/export")
def show_exports(
    request: Request, session: ReadSession, settings: SettingsDep, week: str | None = None
) -> HTMLResponse:
    """Every file there is: the book, and of a week its plan, routes, day sheets and calendars."""
    weeks = read_plan.planned_weeks(session)
    ahead = [one for one in weeks if one.sunday >= settings.today()]
    chosen = IsoWeek.parse(week) if week else next(iter(ahead or weeks[-1:]), None)
    plan = read_plan.week_plan(session, chosen) if chosen in weeks else None
    routes = [one for one in plan.routes if one.stops] if plan else []
    return render(
        request,
        "export.html",
        weeks=weeks,
        week=chosen if plan else None,
        routes=sorted(routes, key=lambda one: (one.day, one.technician_id)),
        marks=marks_of(book.technicians(session)),
    )
