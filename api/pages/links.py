"""What links lead to that carry their own secret: a technician's calendar, a customer's visit."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response

from api.deps import DayPath, ReadSession, SettingsDep, WriteSession
from api.given_out import HEADERS, address_of, brake_of, nowhere
from api.pages.templating import render
from dispatch.actions.calendars import calendar_of
from dispatch.actions.visit_link import visit_of, visit_token
from dispatch.errors import NotFound
from dispatch.feeds.calendar import calendar_text

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
    reached_at = str(request.base_url).rstrip("/")  # as this person reaches the service
    page = render(
        request,
        "visit_link.html",
        day=day,
        visit_id=visit_id,
        path=path,
        address=address_of(settings, path) if settings.public_url else f"{reached_at}{path}",
        until=day + timedelta(days=settings.visit_link_days),
    )
    page.headers.update(HEADERS)
    return page
