"""Where a day stands: every visit that was due on it, in exactly one state.

All of it follows from the revisions of the routes and the events; nothing else is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from dispatch.day.events import BY_THE_OFFICE, OF_VISIT, SIGNS_OF_LIFE, DayEvent, EventKind
from dispatch.day.work import Revision, Work


class StopState(StrEnum):
    """What became of a visit that was due."""

    PLANNED = "planned"
    UNDER_WAY = "under-way"
    DONE = "done"
    SKIPPED = "skipped"
    MOVED = "moved"  # to another day
    CANCELLED = "cancelled"
    UNPLACED = "unplaced"


BY_EVENT = {
    EventKind.STARTED: StopState.UNDER_WAY,
    EventKind.DONE: StopState.DONE,
    EventKind.SKIPPED: StopState.SKIPPED,
}
HAPPENED = frozenset({StopState.UNDER_WAY, StopState.DONE})  # no change of plan takes it back
STARTED = HAPPENED | {StopState.SKIPPED}  # something of it was entered


@dataclass(frozen=True, slots=True)
class Gone:
    """A visit that a change took out of the day's routes: what became of it, and why.

    `state` is moved, cancelled or unplaced; `to_day` is where it went when it was moved.
    """

    visit_id: str
    state: StopState
    to_day: date | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class VisitNow:
    """One due visit: its state, whose it is, and when things happened.

    `technician_id` is who has or did it, None when nobody has. `started_at` and `left_at` are
    aware; `reason` is the code of a skip, `why` what was noted.
    """

    work: Work
    state: StopState
    technician_id: str | None
    started_at: datetime | None = None
    left_at: datetime | None = None
    reason: str = ""
    why: str = ""
    to_day: date | None = None


@dataclass(frozen=True, slots=True)
class Noted:
    """What stays true for the rest of the day: of who starts late, is out or back, and of roads.

    Seconds of the day by technician; latitude, longitude and metres of each area. `back` takes
    back an `out`, `reopened` the same area in `closed`.
    """

    late: tuple[tuple[str, int], ...] = ()
    out: tuple[tuple[str, int], ...] = ()
    closed: tuple[tuple[float, float, float], ...] = ()
    back: tuple[tuple[str, int], ...] = ()
    reopened: tuple[tuple[float, float, float], ...] = ()

    @classmethod
    def read(cls, data: Mapping[str, Any]) -> Noted:
        """What the data of an event say; the reverse of `plain`."""
        return cls(
            late=tuple(data.get("late", {}).items()),
            out=tuple(data.get("out", {}).items()),
            back=tuple(data.get("back", {}).items()),
            closed=tuple(tuple(area) for area in data.get("closed", ())),
            reopened=tuple(tuple(area) for area in data.get("reopened", ())),
        )

    def plain(self) -> dict[str, Any]:
        """The same as plain JSON; empty without anything."""
        said: dict[str, Any] = {
            "late": dict(self.late),
            "out": dict(self.out),
            "back": dict(self.back),
            "closed": [list(area) for area in self.closed],
            "reopened": [list(area) for area in self.reopened],
        }
        return {name: value for name, value in said.items() if value}


@dataclass(frozen=True, slots=True)
class DayState:
    """A day as its history says; `version` is the number of its last event, 0 without any.

    `revisions` has the current route of each technician. `last_sign` is the last sign of life of
    each, `last_at` the visit that each was at last. `begins_s` and `out_from_s` are what repairs
    noted of technicians who start late or are out, `back_s` of those who are back (seconds of the
    day), `closed` the areas without a road to drive: latitude, longitude, metres.
    """

    day: date
    version: int
    revisions: Mapping[str, Revision]
    visits: Mapping[str, VisitNow]
    shift_started_at: Mapping[str, datetime] = field(default_factory=dict)
    shift_ended_at: Mapping[str, datetime] = field(default_factory=dict)
    last_sign: Mapping[str, datetime] = field(default_factory=dict)
    last_at: Mapping[str, str] = field(default_factory=dict)
    alarms: Mapping[str, DayEvent] = field(default_factory=dict)
    begins_s: Mapping[str, int] = field(default_factory=dict)
    out_from_s: Mapping[str, int] = field(default_factory=dict)
    back_s: Mapping[str, int] = field(default_factory=dict)
    closed: tuple[tuple[float, float, float], ...] = ()

    def of_technician(self, technician_id: str, *states: StopState) -> tuple[VisitNow, ...]:
        """The visits in the technician's current route, in order; of the `states` given alone."""
        revision = self.revisions.get(technician_id)
        own = [self.visits[one] for one in revision.visit_ids] if revision else []
        return tuple(one for one in own if not states or one.state in states)


def has_begun(state: DayState) -> bool:
    """Whether anybody has set out, or any visit of the day has been entered."""
    begun = any(one.state in STARTED for one in state.visits.values())
    return begun or bool(state.shift_started_at)


def fold(day: date, revisions: Iterable[Revision], events: Iterable[DayEvent]) -> DayState:
    """The state of `day` after these events, with the revisions that they published.

    Work done or under way counts wherever a change of plan put the visit meanwhile: what happened
    is never taken back but by the event that says it was entered by mistake.
    """
    history = sorted(events, key=lambda one: one.number)
    version = history[-1].number if history else 0
    current: dict[str, Revision] = {}
    works: dict[str, Work] = {}
    for one in sorted(revisions, key=lambda one: one.number):
        if one.number <= version:
            current[one.technician_id] = one
            works |= {work.visit_id: work for work in one.works}
    holder = {visit: one.technician_id for one in current.values() for visit in one.visit_ids}
    happened = _happened(history)
    gone = _gone(history, works)
    visits = {
        visit_id: _visit_now(work, holder.get(visit_id), happened.get(visit_id), gone)
        for visit_id, work in sorted(works.items())
    }
    alarms: dict[str, DayEvent] = {}
    for event in history:
        _set_alarm(alarms, event)
    state = DayState(
        day=day,
        version=version,
        revisions=current,
        visits=visits,
        shift_started_at=_first(history, EventKind.SHIFT_STARTED),
        shift_ended_at=_last(history, frozenset({EventKind.SHIFT_ENDED})),
        last_sign=_last(history, SIGNS_OF_LIFE),
        last_at=_last_at(happened.values()),
        alarms=alarms,
    )
    for event in history:
        if event.kind is EventKind.REPAIRED:
            state = noting(state, Noted.read(event.data))
    return state


def noting(state: DayState, noted: Noted) -> DayState:
    """The day with what is noted of technicians and roads; the last word counts."""
    back, out = dict(noted.back), dict(noted.out)
    shut = [*state.closed, *(area for area in noted.closed if area not in state.closed)]
    return replace(
        state,
        begins_s={**state.begins_s, **dict(noted.late)},
        out_from_s={who: at for who, at in {**state.out_from_s, **out}.items() if who not in back},
        back_s={who: at for who, at in {**state.back_s, **back}.items() if who not in out},
        closed=tuple(area for area in shut if area not in noted.reopened),
    )


def _happened(history: Sequence[DayEvent]) -> dict[str, list[DayEvent]]:
    """By visit, what was entered at it and not taken back, in the order in which it happened."""
    found: dict[str, list[DayEvent]] = {}
    for event in history:
        if event.kind not in OF_VISIT or event.visit_id is None:
            continue
        entered = found.setdefault(event.visit_id, [])
        if event.kind is not EventKind.UNDONE:
            entered.append(event)
        elif entered:
            entered.remove(max(entered, key=lambda one: (one.at, one.number)))
    return {
        visit_id: sorted(entered, key=lambda one: (one.at, one.number))
        for visit_id, entered in found.items()
        if entered
    }


def _gone(history: Sequence[DayEvent], works: Mapping[str, Work]) -> dict[str, Gone]:
    """The last thing that a change of plan said of each visit it took out."""
    found: dict[str, Gone] = {}
    for event in history:
        for one in gone_of(event):
            if one.visit_id in works:
                found[one.visit_id] = one
    return found


def gone_of(event: DayEvent) -> tuple[Gone, ...]:
    """What publishing or a repair took out of the day; nobody else can."""
    taken = event.data.get("gone", ()) if event.kind in BY_THE_OFFICE else ()
    return tuple(
        Gone(
            visit_id=one["visit_id"],
            state=StopState(one["state"]),
            to_day=date.fromisoformat(one["to_day"]) if one.get("to_day") else None,
            why=event.why,
        )
        for one in taken
    )


def _visit_now(
    work: Work, holder: str | None, entered: list[DayEvent] | None, gone: Mapping[str, Gone]
) -> VisitNow:
    last = entered[-1] if entered else None
    if last is not None:
        state = BY_EVENT[last.kind]
        if holder is not None or state in HAPPENED:
            return _entered(work, state, last, entered or [])
    if holder is not None:
        return VisitNow(work, StopState.PLANNED, holder)
    left = gone.get(work.visit_id)
    if left is None:
        return VisitNow(work, StopState.UNPLACED, None)
    return VisitNow(work, left.state, None, why=left.why, to_day=left.to_day)


def _entered(work: Work, state: StopState, last: DayEvent, entered: Sequence[DayEvent]) -> VisitNow:
    starts = [one.at for one in entered if one.kind is EventKind.STARTED]
    return VisitNow(
        work=work,
        state=state,
        technician_id=last.technician_id,
        started_at=starts[-1] if starts else None,
        left_at=None if state is StopState.UNDER_WAY else last.at,
        reason=str(last.data.get("reason", "")) if state is StopState.SKIPPED else "",
        why=last.why,
    )


def _first(history: Sequence[DayEvent], kind: EventKind) -> dict[str, datetime]:
    found: dict[str, datetime] = {}
    for event in history:
        if event.kind is kind and event.technician_id:
            found[event.technician_id] = min(event.at, found.get(event.technician_id, event.at))
    return found


def _last(history: Sequence[DayEvent], kinds: frozenset[EventKind]) -> dict[str, datetime]:
    found: dict[str, datetime] = {}
    for event in history:
        if event.kind in kinds and event.technician_id:
            found[event.technician_id] = max(event.at, found.get(event.technician_id, event.at))
    return found


def _last_at(entered: Iterable[Sequence[DayEvent]]) -> dict[str, str]:
    last: dict[str, DayEvent] = {}
    for events in entered:
        for event in events:
            before = last.get(event.technician_id or "")
            if before is None or (event.at, event.number) > (before.at, before.number):
                last[event.technician_id or ""] = event
    return {who: event.visit_id or "" for who, event in last.items()}


def _set_alarm(alarms: dict[str, DayEvent], event: DayEvent) -> None:
    who = event.technician_id or ""
    if event.kind is EventKind.ALARM:
        alarms[who] = event
    elif event.kind is EventKind.ALARM_CLEARED:
        alarms.pop(who, None)
