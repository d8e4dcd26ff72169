"""What the day will come to as things stand: projected times, and what is flagged early."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, tzinfo
from enum import StrEnum

from dispatch.day.moments import clock_time, seconds_of
from dispatch.day.standing import Roads, Standing
from dispatch.day.state import DayState, StopState, VisitNow
from dispatch.planning.timetable import Times
from dispatch.words import _, counted


@dataclass(frozen=True, slots=True)
class Projected:
    """Projected times of a stop, in seconds of the day."""

    arrive_s: int
    start_s: int
    leave_s: int


class FlagKind(StrEnum):
    """What a dispatcher should look at."""

    WINDOW_MISSED = "window-missed"  # service will begin after the customer's window
    WINDOW_CLOSE = "window-close"  # it will begin in time, with little to spare
    LATE = "late"  # the stop will be reached much later than planned
    IN_HOLD = "in-hold"  # the customer has a hold that began, or was entered, since
    SHIFT_OVER = "shift-over"  # the day will last beyond the shift
    OUT = "out"  # somebody who is out has stops all the same
    NOT_STARTED = "not-started"  # the day should have begun
    OVERDUE = "overdue"  # a stop lasts longer, or is reached later, than it should be by now
    NO_SIGN = "no-sign-of-life"  # overdue, and nothing has been heard: a person may need help


@dataclass(frozen=True, slots=True)
class Flag:
    """One thing to look at: of whom, at which visit, and by how much."""

    kind: FlagKind
    technician_id: str
    visit_id: str | None
    amount_s: int
    words: str


@dataclass(frozen=True, slots=True)
class Limits:
    """From when on things are flagged, in seconds (settings of the company)."""

    late_s: int = 15 * 60
    window_close_s: int = 15 * 60
    no_sign_s: int = 45 * 60


def project(standing: Standing, roads: Roads) -> tuple[dict[str, Projected], Times]:
    """Projected times of the stops ahead by visit, and the times of the whole rest of the day."""
    times = standing.times(roads)
    rows = zip(standing.ahead, times.arrive_s, times.begin_s, times.leave_s, strict=True)
    return {one.work.visit_id: Projected(*at) for one, *at in rows}, times


def flags(
    state: DayState, standing: Standing, roads: Roads, now_s: int, limits: Limits, zone: tzinfo
) -> Iterator[Flag]:
    """What is wrong, or soon will be, with one technician's day."""
    who = standing.technician_id
    projected, times = project(standing, roads)
    yield from _out(state, who, projected.values())
    revision = state.revisions.get(who)
    planned = {stop.visit_id: stop.start_s for stop in revision.route.stops} if revision else {}
    for one, late_s in zip(standing.ahead, times.late_s, strict=True):
        begins_s = projected[one.work.visit_id].start_s
        yield from _window(state.day, who, one, begins_s, late_s, limits)
        behind_s = begins_s - planned.get(one.work.visit_id, begins_s)
        if behind_s >= limits.late_s:
            words = _("expected {behind} later than planned").format(behind=_minutes(behind_s))
            yield Flag(FlagKind.LATE, who, one.work.visit_id, behind_s, words)
    over_s = times.end_s - standing.cell.regular_end_s
    if over_s > 0 and standing.ahead:
        words = _("the day will last {over} beyond the shift").format(over=_minutes(over_s))
        yield Flag(FlagKind.SHIFT_OVER, who, None, over_s, words)
    yield from _overdue(state, standing, now_s, limits, zone)


def _out(state: DayState, who: str, ahead: Iterable[Projected]) -> Iterator[Flag]:
    """Stops that somebody was given who is out by then."""
    out_s = state.out_from_s.get(who)
    left = 0 if out_s is None else sum(one.start_s >= out_s for one in ahead)
    if out_s is not None and left:
        said = counted(
            "is out from {time} on and has {n} stop all the same: repair the day",
            "is out from {time} on and has {n} stops all the same: repair the day",
            left,
            time=clock_time(state.day, out_s),
        )
        yield Flag(FlagKind.OUT, who, None, 0, said)


def _window(
    day: date, who: str, one: VisitNow, begins_s: int, late_s: int, limits: Limits
) -> Iterator[Flag]:
    if not one.work.has_window:
        return
    visit = one.work.visit_id
    until = clock_time(day, one.work.windows[-1].end_s)
    if late_s > 0:
        words = _("will begin {late} after the promised {until}").format(
            late=_minutes(late_s), until=until
        )
        yield Flag(FlagKind.WINDOW_MISSED, who, visit, late_s, words)
        return
    met = next(window for window in one.work.windows if begins_s <= window.end_s)
    spare_s = met.end_s - begins_s
    if spare_s < limits.window_close_s:
        words = _("will begin only {spare} before the promised {end}").format(
            spare=_minutes(spare_s), end=clock_time(day, met.end_s)
        )
        yield Flag(FlagKind.WINDOW_CLOSE, who, visit, spare_s, words)


def _overdue(
    state: DayState, standing: Standing, now_s: int, limits: Limits, zone: tzinfo
) -> Iterator[Flag]:
    """A stop that should be over or reached by now; an alarm where nothing was heard since."""
    who = standing.technician_id
    if who in state.shift_ended_at:
        return
    visit_id, expected_s = _expected(state, standing, zone)
    overdue_s = now_s - expected_s
    if visit_id is None or overdue_s <= 0:
        return
    if not standing.is_out:
        words = _("should have set out {overdue} ago").format(overdue=_minutes(overdue_s))
        yield Flag(FlagKind.NOT_STARTED, who, visit_id, overdue_s, words)
        return
    if overdue_s >= limits.late_s:
        words = _("was expected to go on {overdue} ago").format(overdue=_minutes(overdue_s))
        yield Flag(FlagKind.OVERDUE, who, visit_id, overdue_s, words)
    sign = state.last_sign.get(who)
    silent_s = now_s - (expected_s if sign is None else seconds_of(state.day, sign, zone))
    if min(overdue_s, silent_s) >= limits.no_sign_s:
        words = _("no sign of life for {silent}, overdue by {overdue}").format(
            silent=_minutes(silent_s), overdue=_minutes(overdue_s)
        )
        yield Flag(FlagKind.NO_SIGN, who, visit_id, overdue_s, words)


def _expected(state: DayState, standing: Standing, zone: tzinfo) -> tuple[str | None, int]:
    """The visit that is next to give a sign, and when it should have."""
    last = state.visits.get(state.last_at.get(standing.technician_id, ""))
    if last is not None and last.state is StopState.UNDER_WAY and last.started_at is not None:
        started_s = seconds_of(state.day, last.started_at, zone)
        return last.work.visit_id, started_s + last.work.service_s
    if not standing.is_out:
        revision = state.revisions.get(standing.technician_id)
        if revision is None or not standing.ahead:
            return None, 0
        return standing.ahead[0].work.visit_id, revision.route.start_s
    if standing.on_way is None or standing.expected_s is None:
        return None, 0
    return standing.on_way.work.visit_id, standing.expected_s


def _minutes(seconds: int) -> str:
    return _("{minutes} min").format(minutes=-(-seconds // 60))


def alarms_due(found: Iterable[Flag], state: DayState) -> list[Flag]:
    """Those of the flags that call for an alarm which has not been raised yet."""
    return [
        one
        for one in found
        if one.kind is FlagKind.NO_SIGN and one.technician_id not in state.alarms
    ]
