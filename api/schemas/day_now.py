"""JSON of a day: where it stands, what happened, what is sent to it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from pydantic import BaseModel, Field

from dispatch.actions.day import DayNow, StopNow, Taken, TechnicianNow
from dispatch.actions.day_events import Outcome
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.projection import Flag
from dispatch.day.state import StopState, VisitNow
from dispatch.day.work import Revision, Work
from dispatch.planning.plan import Route

SECONDS = "seconds of the day, from noon minus 12 hours local time"


class StopNowOut(BaseModel):
    """A stop of a route: planned, true and projected times."""

    number: int
    visit_id: str
    site_id: str
    site_name: str
    title: str
    state: StopState
    is_late: bool
    is_next: bool
    planned_arrive_s: int = Field(description=SECONDS)
    planned_start_s: int
    planned_leave_s: int
    arrive_s: int | None = Field(description="projected; null for what has happened")
    start_s: int | None
    leave_s: int | None
    started_at: datetime | None
    left_at: datetime | None
    reason: str
    why: str
    in_hold: bool = Field(description="still planned, though the customer has a hold")

    @classmethod
    def of(cls, row: StopNow) -> StopNowOut:
        """The JSON of a stop."""
        ahead = row.projected
        return cls(
            number=row.number,
            visit_id=row.stop.visit_id,
            site_id=row.stop.site_id,
            site_name=row.site_name,
            title=row.now.work.title,
            state=row.now.state,
            is_late=row.is_late,
            is_next=row.is_next,
            planned_arrive_s=row.stop.arrive_s,
            planned_start_s=row.stop.start_s,
            planned_leave_s=row.stop.leave_s,
            arrive_s=ahead.arrive_s if ahead else None,
            start_s=ahead.start_s if ahead else None,
            leave_s=ahead.leave_s if ahead else None,
            started_at=row.now.started_at,
            left_at=row.now.left_at,
            reason=row.now.reason,
            why=row.now.why,
            in_hold=row.hold is not None,
        )


class TechnicianNowOut(BaseModel):
    """One technician's day."""

    technician_id: str
    name: str
    revision: int
    shift_start_s: int | None = Field(description=SECONDS)
    shift_end_s: int | None
    planned_start_s: int
    planned_end_s: int
    end_s: int | None = Field(description="projected")
    shift_started_at: datetime | None
    shift_ended_at: datetime | None
    last_sign_at: datetime | None
    alarm_at: datetime | None
    stops: list[StopNowOut]

    @classmethod
    def of(cls, one: TechnicianNow) -> TechnicianNowOut:
        """The JSON of a technician's day."""
        names = [name for name in cls.model_fields if name != "stops"]
        return cls(
            stops=[StopNowOut.of(row) for row in one.stops],
            **{name: getattr(one, name) for name in names},
        )


class OtherVisitOut(BaseModel):
    """A visit that was due and stands in no route any more."""

    visit_id: str
    site_id: str
    site_name: str
    state: StopState
    to_day: date | None
    why: str

    @classmethod
    def of(cls, site_name: str, one: VisitNow) -> OtherVisitOut:
        """The JSON of such a visit."""
        return cls(
            visit_id=one.work.visit_id,
            site_id=one.work.site_id,
            site_name=site_name,
            state=one.state,
            to_day=one.to_day,
            why=one.why,
        )


class DayNowOut(BaseModel):
    """A day at a moment; `version` is the number of its last event."""

    day: date
    version: int
    now_s: int = Field(description=SECONDS)
    counts: dict[StopState, int]
    technicians: list[TechnicianNowOut]
    others: list[OtherVisitOut]
    flags: list[Flag]

    @classmethod
    def of(cls, now: DayNow) -> DayNowOut:
        """The JSON of a day."""
        return cls(
            day=now.day,
            version=now.version,
            now_s=now.now_s,
            counts=now.counts,
            technicians=[TechnicianNowOut.of(one) for one in now.technicians],
            others=[OtherVisitOut.of(*one) for one in now.others],
            flags=list(now.flags),
        )


class RevisionOut(BaseModel):
    """A technician's published route."""

    technician_id: str
    revision: int
    number: int = Field(description="place of its event in the day's history")
    route: Route
    works: list[Work]

    @classmethod
    def of(cls, one: Revision) -> RevisionOut:
        """The JSON of a revision."""
        return cls(
            technician_id=one.technician_id,
            revision=one.revision,
            number=one.number,
            route=one.route,
            works=list(one.works),
        )


class DayEventOut(BaseModel):
    """One event of a day's history."""

    number: int
    id: str
    kind: EventKind
    at: datetime
    received_at: datetime
    who: str
    technician_id: str | None
    visit_id: str | None
    why: str
    data: dict[str, Any]

    @classmethod
    def of(cls, event: DayEvent) -> DayEventOut:
        """The JSON of an event."""
        return cls(**{name: getattr(event, name) for name in cls.model_fields})


class DayEventIn(BaseModel):
    """An event to be entered; without a time it happened now."""

    id: str | None = Field(default=None, description="UUID; made here when missing")
    kind: EventKind
    at: datetime | None = None
    technician_id: str | None = Field(default=None, max_length=200)
    visit_id: str | None = Field(default=None, max_length=200)
    why: str = Field(default="", max_length=2000)
    data: dict[str, Any] = {}


class TakenOut(BaseModel):
    """What became of an event that was sent."""

    id: str
    outcome: Outcome
    number: int
    reason: str

    @classmethod
    def of(cls, one: Taken) -> TakenOut:
        """The JSON of it."""
        return cls(id=one.id, outcome=one.outcome, number=one.number, reason=one.reason)
