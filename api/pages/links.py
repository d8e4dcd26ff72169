"""What links lead to that carry their own secret: a technician's calendar, a customer's visit."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from api.deps import DayPath, PersonDep, ReadSession, SettingsDep, WriteSession
from api.given_out import HEADERS, address_of, brake_of, nowhere
from api.pages.templating import render
from dispatch.actions.calendars import (
    calendar_of,
    calendar_owner,
    calendar_token,
    end_calendar_address,
    new_calendar_address,
)
from dispatch.actions.visit_link import visit_of, visit_token
from dispatch.errors import NotFound
from dispatch.feeds.calendar import calendar_text
from dispatch.settings import Settings

router = APIRouter()


@router.get("/calendar/{token}.ics")
def show_calendar(
    request: Request, session: ReadSession, settings: SettingsDep, token: str
) -> Response:
    """A technician's calendar, for a phone that subscribed to its address."""
    brake_of(request).count(request)
    try:
        found = calendar_of(session, settings, token)
    except NotFound as error:
        raise nowhere(request, error) from error
    return Response(calendar_text(found, settings), media_type="text/calendar", headers=HEADERS)


@router.get("/visit/{token}")
def show_visit(
    request: Request, session: ReadSession, settings: SettingsDep, token: str
) -> HTMLResponse:
    """What a customer is told of one visit; the same page for every link that leads nowhere."""
    brake_of(request).count(request)
    try:
        found = visit_of(session, settings, token, now=settings.now())
    except NotFound:
        brake_of(request).count_wrong(request)
        page = render(request, "visit.html", 404, visit=None)
    else:
        page = render(request, "visit.html", visit=found, zone=settings.zone)
    page.headers.update(HEADERS)
    return page


@router.post("/day/{day}/visit-link")
def make_visit_link(
    request: Request,
    session: WriteSession,
    settings: SettingsDep,
    day: DayPath,
    visit_id: Annotated[str, Form(max_length=200)],
) -> HTMLResponse:
    """Make the link of a visit and show it to be sent to the customer."""
    path = f"/visit/{visit_token(session, settings, day, visit_id)}"
    page = render(
        request,
        "visit_link.html",
        day=day,
        visit_id=visit_id,
        path=path,
        address=_whole_address(request, settings, path),
        until=day + timedelta(days=settings.visit_link_days),
    )
    page.headers.update(HEADERS)
    return page


@router.get("/technicians/{technician_id}/calendar")
def show_calendar_address(
    request: Request, session: ReadSession, settings: SettingsDep, technician_id: str
) -> HTMLResponse:
    """The address under which a phone reads the calendar, and what can be done with it."""
    technician = calendar_owner(session, technician_id)
    token = calendar_token(session, settings, technician_id)
    path = f"/calendar/{token}.ics" if token else ""
    page = render(
        request,
        "calendar_address.html",
        technician=technician,
        address=_whole_address(request, settings, path) if path else "",
        today=settings.today(),
    )
    page.headers.update(HEADERS)
    return page


@router.post("/technicians/{technician_id}/calendar")
def make_calendar_address(
    session: WriteSession, settings: SettingsDep, person: PersonDep, technician_id: str
) -> RedirectResponse:
    """Give the calendar a new address; the former one ends."""
    new_calendar_address(session, settings, technician_id, who=person.name, at=settings.now())
    return RedirectResponse(f"/technicians/{technician_id}/calendar", 303)


@router.post("/technicians/{technician_id}/calendar/end")
def end_calendar_address_from_form(session: WriteSession, technician_id: str) -> RedirectResponse:
    """Let the address lead nowhere from now on."""
    end_calendar_address(session, technician_id)
    return RedirectResponse(f"/technicians/{technician_id}/calendar", 303)


def _whole_address(request: Request, settings: Settings, path: str) -> str:
    """A path as this person reaches the service, unless the settings say how everybody does."""
    reached_at = str(request.base_url).rstrip("/")
    return address_of(settings, path) if settings.own_url else f"{reached_at}{path}"
