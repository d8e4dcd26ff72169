"""Where a day stands: everybody's stops with planned, true and projected times, and flags."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import uuid4

from sqlmodel import Session

from dispatch.actions.day_roads import DayBook, read_day_book
from dispatch.actions.published_day import read_day
from dispatch.clock import DAY_S, day_over_s
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.moments import seconds_of
from dispatch.day.projection import Flag, FlagKind, Limits, Projected, alarms_due, flags, project
from dispatch.day.standing import Roads, Standing, stand_all
from dispatch.day.state import DayState, StopState, VisitNow
from dispatch.planning.plan import Stop
from dispatch.settings import Settings
from dispatch.sites import Hold
from dispatch.store.days import add_day_events
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class StopNow:
    """One stop of a technician's route; `number` counts from 1.

    Times ending in `_s` are seconds of the day (from noon minus 12 hours, local). `projected` is
    None for what has happened, and where nothing can be said. `is_late` tells that the stop is
    expected, or was begun, much later than planned. `hold` is that of the customer, while the stop
    is still planned.
    """

    number: int
    site_name: str
    stop: Stop
    now: VisitNow
    projected: Projected | None
    is_late: bool
    is_next: bool
    hold: Hold | None = None


@dataclass(frozen=True, slots=True)
class TechnicianNow:
    """One technician's day; `end_s` is the projected end, seconds of the day."""

    technician_id: str
    name: str
    revision: int
    shift_start_s: int | None
    shift_end_s: int | None
    planned_start_s: int
    planned_end_s: int
    end_s: int | None
    stops: tuple[StopNow, ...]
    shift_started_at: datetime | None
    shift_ended_at: datetime | None
    last_sign_at: datetime | None
    alarm_at: datetime | None

    @property
    def over_s(self) -> int:
        """When the working day is over at the latest, seconds of the day."""
        return day_over_s(max(self.shift_end_s or 0, self.planned_end_s))


@dataclass(frozen=True, slots=True)
class DayNow:
    """A day at a moment; `others` are due visits that stand in no route any more.

    `out_from_s` are the technicians who are out (seconds of the day), `closed` the areas without a
    road to drive: latitude, longitude, metres.
    """

    day: date
    version: int
    now_s: int
    technicians: tuple[TechnicianNow, ...]
    others: tuple[tuple[str, VisitNow], ...]
    flags: tuple[Flag, ...]
    out_from_s: Mapping[str, int]
    closed: tuple[tuple[float, float, float], ...]

    @property
    def has_begun(self) -> bool:
        """Whether anybody has set out or begun; such a day is repaired, not published again."""
        begun = {StopState.UNDER_WAY, StopState.DONE, StopState.SKIPPED}
        seen = any(self.counts[state] for state in begun)
        return seen or any(one.shift_started_at is not None for one in self.technicians)

    @property
    def clock_s(self) -> int:
        """Now, held within the working day: a minute before it is over for everybody."""
        over_s = max((one.over_s for one in self.technicians), default=DAY_S)
        return min(max(0, self.now_s), over_s - 60)

    @property
    def counts(self) -> dict[StopState, int]:
        """How many of the due visits are in each state."""
        rows = [row.now for one in self.technicians for row in one.stops]
        rows += [visit for _, visit in self.others]
        return {state: sum(row.state is state for row in rows) for state in StopState}


def day_now(session: Session, settings: Settings, day: date, *, now: datetime) -> DayNow:
    """Where `day` stands at the moment `now`.

    Raises
    ------
    NotFound
        When the day was never published.
    NoMap, OffStreet, SettingsError
        When there are no drive times to project with.
    """
    return view_of(read_day(session, day), read_day_book(session, settings), settings, now)


def state_at(
    session: Session, settings: Settings, day: date, number: int, *, now: datetime | None = None
) -> DayNow:
    """The day as it stood after the event `number`, seen from that event's moment or from `now`.

    Raises
    ------
    NotFound
        When the day was never published or has no such event; and as `day_now`.
    """
    from dispatch.store.days import read_day_events

    state = read_day(session, day, number)
    moment = now or read_day_events(session, day, after=number - 1, up_to=number)[0].received_at
    return view_of(state, read_day_book(session, settings), settings, moment)


def raise_alarms(
    session: Session, settings: Settings, day: date, *, now: datetime
) -> tuple[DayEvent, ...]:
    """Enter an alarm for each technician who is overdue without a sign of life; once for each.

    Nobody is looked for once the working day is over: at midnight, after a night shift at noon.

    Raises
    ------
    NotFound
        When the day was never published; and as `day_now`.
    """
    state = read_day(session, day)
    seen = view_of(state, read_day_book(session, settings), settings, now)
    on_duty = {one.technician_id for one in seen.technicians if seen.now_s < one.over_s}
    raised = [
        DayEvent(
            id=str(uuid4()),
            day=day,
            kind=EventKind.ALARM,
            at=now,
            received_at=now,
            who="dispatch",
            technician_id=one.technician_id,
            visit_id=one.visit_id,
            why=one.words,
        )
        for one in alarms_due(seen.flags, state)
        if one.technician_id in on_duty
    ]
    return tuple(add_day_events(session, raised))


def limits_of(settings: Settings) -> Limits:
    """When things are flagged, by the company's settings."""
    return Limits(
        late_s=60 * settings.late_flag_min,
        window_close_s=60 * settings.window_flag_min,
        no_sign_s=60 * settings.lone_worker_min,
    )


def view_of(state: DayState, book: DayBook, settings: Settings, now: datetime) -> DayNow:
    """A state of a day, seen at a moment."""
    zone, limits = settings.zone, limits_of(settings)
    now_s, roads = seconds_of(state.day, now, zone), book.roads_on(state)
    standings = stand_all(state, book.cells(state.day)[0], roads, now_s, zone)
    found = [
        flag
        for who in sorted(state.revisions)
        if who in standings
        for flag in flags(state, standings[who], roads, now_s, limits, zone)
    ]
    found += [
        Flag(FlagKind.IN_HOLD, who, one.work.visit_id, 0, _hold_words(hold))
        for who in sorted(state.revisions)
        for one in state.of_technician(who)
        if (hold := _hold_of(book, state.day, one)) is not None
    ]
    held = {one for revision in state.revisions.values() for one in revision.visit_ids}
    others = tuple(
        (book.site_name(one.work.site_id), one)
        for visit_id, one in state.visits.items()
        if visit_id not in held
    )
    people = tuple(
        _technician(state, who, standings.get(who), book, roads, found)
        for who in sorted(state.revisions)
    )
    return DayNow(
        day=state.day,
        version=state.version,
        now_s=now_s,
        technicians=people,
        others=others,
        flags=tuple(found),
        out_from_s=state.out_from_s,
        closed=state.closed,
    )


def _hold_words(hold: Hold) -> str:
    words = (
        _("in a hold from {first_day} to {last_day} ({reason}): cancel the stop or move it")
        if hold.reason
        else _("in a hold from {first_day} to {last_day}: cancel the stop or move it")
    )
    return words.format(first_day=hold.first_day, last_day=hold.last_day, reason=hold.reason)


def _hold_of(book: DayBook, day: date, one: VisitNow) -> Hold | None:
    """The hold in which a visit is still planned."""
    return book.hold_on(one.work.site_id, day) if one.state is StopState.PLANNED else None


def _technician(
    state: DayState,
    who: str,
    standing: Standing | None,
    book: DayBook,
    roads: Roads,
    found: list[Flag],
) -> TechnicianNow:
    revision = state.revisions[who]
    projected: dict[str, Projected] = {}
    end_s = None
    if standing is not None:
        projected, times = project(standing, roads)
        end_s = times.end_s if standing.ahead or standing.is_out else None
    late = {
        one.visit_id
        for one in found
        if one.technician_id == who and one.kind in (FlagKind.LATE, FlagKind.WINDOW_MISSED)
    }
    next_one = standing.ahead[0].work.visit_id if standing and standing.ahead else None
    alarm = state.alarms.get(who)
    shift = book.shift_of(who, state.day)
    return TechnicianNow(
        technician_id=who,
        name=book.name_of(who),
        revision=revision.revision,
        shift_start_s=shift.start_s if shift else None,
        shift_end_s=shift.end_s if shift else None,
        planned_start_s=revision.route.start_s,
        planned_end_s=revision.route.end_s,
        end_s=end_s,
        stops=tuple(
            StopNow(
                number=number,
                site_name=book.site_name(stop.site_id),
                stop=stop,
                now=state.visits[stop.visit_id],
                projected=projected.get(stop.visit_id),
                is_late=stop.visit_id in late,
                is_next=stop.visit_id == next_one,
                hold=_hold_of(book, state.day, state.visits[stop.visit_id]),
            )
            for number, stop in enumerate(revision.route.stops, start=1)
        ),
        shift_started_at=state.shift_started_at.get(who),
        shift_ended_at=state.shift_ended_at.get(who),
        last_sign_at=state.last_sign.get(who),
        alarm_at=alarm.at if alarm else None,
    )
