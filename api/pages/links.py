"""What links lead to that carry their own secret: a technician's calendar."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from api.deps import ReadSession, SettingsDep
from api.given_out import HEADERS, brake_of, nowhere
from dispatch.actions.calendars import calendar_of
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
