"""A week for other programs: GPX of every route, and the calendars of those who drive them."""

from __future__ import annotations

from sqlmodel import Session

from dispatch.actions.calendars import technician_calendar
from dispatch.actions.paper_day import day_track
from dispatch.actions.read_plan import week_plan
from dispatch.clock import IsoWeek
from dispatch.feeds.calendar import calendar_text
from dispatch.feeds.track import gpx_text
from dispatch.settings import Settings


def week_files(session: Session, settings: Settings, week: IsoWeek) -> dict[str, bytes]:
    """Files by name; raises NotFound where the week has no plan, NoMap without a street map."""
    routes = [route for route in week_plan(session, week).routes if route.stops]
    files = {}
    for route in routes:
        track = day_track(session, settings, route.technician_id, route.day)
        files[f"gpx/{route.technician_id}-{route.day}.gpx"] = gpx_text(track, settings).encode()
    for name in sorted({route.technician_id for route in routes}):
        calendar = technician_calendar(session, settings, name)
        files[f"calendars/{name}.ics"] = calendar_text(calendar, settings)
    return files
