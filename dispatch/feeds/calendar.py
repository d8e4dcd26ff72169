"""A technician's stops as a calendar that phones subscribe to (RFC 5545, RFC 7986).

It holds no gate code and no note about gate or dog: calendars are shared, and copied to servers
that are not ours.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from hashlib import sha256
from urllib.parse import quote

from icalendar import Calendar, Event, vUri
from icalendar.prop import vInline

from dispatch.actions.calendars import CalendarStop, TechnicianCalendar
from dispatch.day.moments import moment_of
from dispatch.settings import Settings
from dispatch.texts import readable
from dispatch.words import _

READ_AGAIN = timedelta(minutes=15)  # how often a reader should ask anew; most ask less often


def calendar_text(found: TechnicianCalendar, settings: Settings) -> bytes:
    """The calendar of a technician, UTF-8 in lines that end in CRLF.

    Times are in the company's time zone, with its VTIMEZONE, where the settings name one, and in
    UTC otherwise, as in an hour that comes twice. UIDs follow from the visits, so that a stop that
    is moved stays one entry.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Pool dispatch//Technician's stops//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    title = _("Pools, {name}").format(name=found.technician.name)
    name = _text(" ".join(readable(title).split()))
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)  # what readers older than RFC 7986 show
    calendar.add("refresh-interval", READ_AGAIN, {"value": "DURATION"})
    for stop in found.stops:
        calendar.add_component(_event(stop, found.technician.id, settings))
    if settings.time_zone is not None:
        calendar.add_missing_timezones()
    return bytes(calendar.to_ical())


def uid_of(visit_id: str) -> str:
    """The UID of a visit: opaque, and always the same."""
    return f"{sha256(visit_id.encode()).hexdigest()[:32]}@pool-dispatch"


def _event(stop: CalendarStop, technician_id: str, settings: Settings) -> Event:
    event = Event()
    event.add("uid", uid_of(stop.visit_id))
    event.add("dtstamp", _whole(stop.changed_at))
    event.add("last-modified", _whole(stop.changed_at))
    event.add("sequence", stop.sequence)
    start, end = (moment_of(stop.day, one, settings.zone) for one in (stop.start_s, stop.leave_s))
    if settings.time_zone is not None:
        start, end = _local(settings, start, end)
    event.add("dtstart", start)
    event.add("dtend", end)
    event.add("summary", _text(stop.customer))
    if stop.address:
        event.add("location", _text(stop.address))
    # written by us: the library writes 1e-05 at the Greenwich meridian, which is no number here
    event.add("geo", vInline(f"{stop.place.lat:.6f};{stop.place.lon:.6f}"))
    if stop.work:
        event.add("description", _text("\n".join((_("Besides the service:"), *stop.work))))
    if settings.own_url:
        address = f"{settings.own_url}/day/{quote(technician_id)}/{stop.day}"
        event.add("url", vUri(address))
    event.add("transp", "OPAQUE")
    event.add("class", "PRIVATE")
    return event


def _text(text: str) -> vInline:
    """A text as RFC 5545 writes it (section 3.3.11).

    The library takes a backslash before a capital N, as in a unit's number, for a new line, and
    writes what it does not know without escaping it.
    """
    said = readable(text).replace("\r\n", "\n").replace("\r", "\n")
    for sign in ("\\", ";", ","):
        said = said.replace(sign, f"\\{sign}")
    return vInline(said.replace("\n", "\\n"))


def _local(settings: Settings, *moments: datetime) -> tuple[datetime, ...]:
    """The moments in the company's zone; in UTC where one lies in the second of a repeated hour.

    Local time means the first one (RFC 5545, section 3.3.5), which would let a visit end before
    it begins.
    """
    local = tuple(one.astimezone(settings.zone) for one in moments)
    return moments if any(one.fold for one in local) else local


def _whole(at: datetime) -> datetime:
    """To the second, as the format has it."""
    return at.astimezone(UTC).replace(microsecond=0)
