"""What technicians take along: calendars, routes for navigators, printed day sheets."""

from __future__ import annotations

from dataclasses import replace

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel

from api.callers import note_call
from api.deps import CallerDep, DayPath, PersonDep, ReadSession, SettingsDep, WriteSession
from api.downloads import disposition
from api.given_out import address_of, typeface
from api.pages.units import units_of
from dispatch.actions import calendars
from dispatch.actions.gate_codes import check_print_of_codes, sheet_with_codes
from dispatch.actions.paper_day import day_track, paper_day
from dispatch.feeds.calendar import calendar_text
from dispatch.feeds.paper import PaperWish, day_sheet_pdf
from dispatch.feeds.track import gpx_text
from dispatch.store.db import transaction

router = APIRouter(prefix="/technicians/{technician_id}", tags=["feeds"])


class CalendarAddressOut(BaseModel):
    """Where a technician's calendar is read; whoever knows the address reads it."""

    address: str


@router.get("/calendar.ics", response_class=Response)
def export_calendar(session: ReadSession, settings: SettingsDep, technician_id: str) -> Response:
    """The published stops as a calendar (RFC 5545), without gate codes and notes."""
    found = calendars.technician_calendar(session, settings, technician_id)
    return _file(calendar_text(found, settings), "text/calendar", f"{technician_id}.ics")


@router.post("/calendar-address", status_code=201)
def make_calendar_address(
    session: WriteSession, settings: SettingsDep, person: PersonDep, technician_id: str
) -> CalendarAddressOut:
    """Give the calendar an address that phones can subscribe to; a former one ends."""
    token = calendars.new_calendar_address(
        session, settings, technician_id, who=person.name, at=settings.now()
    )
    return CalendarAddressOut(address=address_of(settings, f"/calendar/{token}.ics"))


@router.delete("/calendar-address", status_code=204)
def end_calendar_address(session: WriteSession, technician_id: str) -> None:
    """Let the address of the calendar lead nowhere from now on."""
    calendars.end_calendar_address(session, technician_id)


@router.get("/days/{day}/route.gpx", response_class=Response)
def export_track(
    session: ReadSession, settings: SettingsDep, technician_id: str, day: DayPath
) -> Response:
    """The route of a day as GPX 1.1: the gates as a route, the streets as a track."""
    text = gpx_text(day_track(session, settings, technician_id, day), settings)
    return _file(text.encode(), "application/gpx+xml", f"{technician_id}-{day}.gpx")


@router.get("/days/{day}/sheet.pdf", response_class=Response)
def export_paper(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    caller: CallerDep,
    technician_id: str,
    day: DayPath,
    gate_codes: bool = False,
) -> Response:
    """The day sheet to be printed; gate codes for a signed-in person who asks for them."""
    if gate_codes:
        check_print_of_codes(session, settings, caller, technician_id, day)
        with transaction(request.app.state.engine) as noting:
            note_call(noting, request)
    customary = units_of(request).customary
    found = paper_day(session, settings, technician_id, day, customary=customary)
    sheet = sheet_with_codes(settings, found.sheet, shown=gate_codes)
    found = replace(found, sheet=sheet)
    wish = PaperWish(settings.paper, customary, gate_codes)
    content = day_sheet_pdf(found, typeface(), wish)
    return _file(content, "application/pdf", f"day-sheet-{technician_id}-{day}.pdf", inline=True)


def _file(content: bytes, media_type: str, name: str, *, inline: bool = False) -> Response:
    headers = {
        "Content-Disposition": disposition(name, inline=inline),
        "Cache-Control": "no-store",
    }
    return Response(content, media_type=media_type, headers=headers)
