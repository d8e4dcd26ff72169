"""Which working day is under way: a night shift keeps its day until it ends."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from sqlmodel import Session

from dispatch.clock import DAY_S, day_over_s
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import day_seconds, seconds_of, shift_on
from dispatch.day.work import Revision
from dispatch.settings import Settings
from dispatch.store.book import read_technician, read_technicians
from dispatch.store.days import read_day_events, read_events_of, read_revisions
from dispatch.technicians import Shift, Technician

A_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class NightShift:
    """Somebody who is still out on the shift of yesterday, `day`; `alarm`: without sign of life."""

    technician_id: str
    day: date
    alarm: bool


def working_day(session: Session, settings: Settings, technician_id: str) -> date:
    """The day that a technician works on now: today, or yesterday while its night shift goes on.

    A published night shift goes on until its end and that of its route; when it was begun and not
    ended, until noon at the latest, or until the technician's next shift begins. Once the
    technician has ended it, it is over.
    """
    today = settings.today()
    yesterday = today - A_DAY
    end_s = work_ends_s(session, settings, yesterday, technician_id)
    now_s = seconds_of(yesterday, settings.now(), settings.zone)
    if end_s <= DAY_S or now_s >= day_over_s(end_s):
        return today
    has_begun, has_ended = _begun_and_ended(
        read_events_of(session, yesterday, [technician_id], ()), technician_id
    )
    if has_ended:
        return today
    if now_s < end_s:
        return yesterday
    over_s = not_ended_over_s(read_technician(session, technician_id), yesterday, end_s)
    return yesterday if has_begun and now_s < over_s else today


def not_ended_over_s(technician: Technician | None, day: date, end_s: int) -> int:
    """When work of a day that was begun and not ended is over, in the seconds of the day.

    A night shift that is to end at `end_s` goes on until noon at the latest, or until the
    technician's next shift begins.
    """
    over_s = day_over_s(end_s)
    coming = technician.shift_on(day + A_DAY) if technician else None
    return min(over_s, DAY_S + coming.start_s) if coming and end_s > DAY_S else over_s


def work_ends_s(session: Session, settings: Settings, day: date, technician_id: str) -> int:
    """When the work of a published day is to end, in its seconds; 0 where none was published.

    It is the end of the technician's shift or of the newest route, whichever is later.
    """
    revisions = read_revisions(session, day, technician_id)
    technician = read_technician(session, technician_id)
    return _ends_s(revisions[-1], technician, settings) if revisions else 0


def served_days(session: Session, settings: Settings, technician_id: str) -> frozenset[date]:
    """The days whose gates a technician serves now: today's, and those of a night under way."""
    return frozenset({settings.today(), working_day(session, settings, technician_id)})


def on_shift_s(
    session: Session, settings: Settings, day: date, technician_id: str, clock_s: int
) -> int:
    """A time on the clock as seconds of a technician's day: 01:00 of a night shift is 25 hours."""
    shift = shift_of(session, technician_id, day)
    return day_seconds(day, shift.nearest(clock_s) if shift else clock_s, settings.zone)


def shift_of(session: Session, technician_id: str, day: date) -> Shift | None:
    """The shift of a technician on a day by the clock; None without one, or without him."""
    technician = read_technician(session, technician_id)
    return technician.shift_on(day) if technician else None


def nights_under_way(session: Session, settings: Settings) -> tuple[NightShift, ...]:
    """Everybody who is out on yesterday's night shift still, by id."""
    yesterday = settings.today() - A_DAY
    newest = {one.technician_id: one for one in read_revisions(session, yesterday)}
    people = {one.id: one for one in read_technicians(session)} if newest else {}
    night = [who for who, one in newest.items() if _ends_s(one, people.get(who), settings) > DAY_S]
    out = [who for who in sorted(night) if working_day(session, settings, who) == yesterday]
    events = read_day_events(session, yesterday) if out else []
    return tuple(NightShift(one, yesterday, _has_alarm(events, one)) for one in out)


def day_of_work(session: Session, settings: Settings) -> date:
    """The day that the office looks after now: today, or yesterday while only its night goes on.

    From the first departure of a published route of today on, today goes before a night shift.
    """
    today = settings.today()
    now_s = seconds_of(today, settings.now(), settings.zone)
    has_begun = any(one.route.start_s <= now_s for one in read_revisions(session, today))
    return today if has_begun or not nights_under_way(session, settings) else today - A_DAY


def _ends_s(newest: Revision, technician: Technician | None, settings: Settings) -> int:
    shift = shift_on(technician, newest.route.day, settings.zone) if technician else None
    return max(newest.route.end_s, shift.end_s if shift else 0)


def _begun_and_ended(events: list[DayEvent], technician_id: str) -> tuple[bool, bool]:
    """Whether the shift was begun, and whether it was ended since."""
    marks = [
        one.kind
        for one in events
        if one.technician_id == technician_id
        and one.kind in (EventKind.SHIFT_STARTED, EventKind.SHIFT_ENDED)
    ]
    ended = bool(marks) and marks[-1] is EventKind.SHIFT_ENDED
    return EventKind.SHIFT_STARTED in marks, ended


def _has_alarm(events: list[DayEvent], technician_id: str) -> bool:
    kinds = [one.kind for one in events if one.technician_id == technician_id]
    alarms = [one for one in kinds if one in (EventKind.ALARM, EventKind.ALARM_CLEARED)]
    return bool(alarms) and alarms[-1] is EventKind.ALARM
