"""JSON of records, follow-ups, photos and what was set aside; readings in their kept units."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from pydantic import BaseModel, Field

from dispatch.actions.take_in import Outcome, TakenIn
from dispatch.measures import measured
from dispatch.readings import LIMITS, ReadingAt, ReadingKind
from dispatch.records.content import content_of
from dispatch.records.follow_ups import FollowUp, FollowUpKind
from dispatch.records.photos import Photo
from dispatch.store.record_lists import Aside
from dispatch.store.records import KeptRecord, RecordVersion

RECORD_EXAMPLE = {
    "id": "0b6f6f0e-8f5b-4a53-9d0e-5d2a5f7f2c11",
    "site_id": "S017",
    "technician_id": "T1",
    "day": "2026-11-23",
    "visit_id": "S017/2026-W48/1",
    "arrived_at": "2026-11-23T16:05:00Z",
    "left_at": "2026-11-23T16:37:00Z",
    "readings": [
        {"kind": "ph", "value": 7.4, "method": "drops"},
        {"kind": "filter-pressure", "value": 18, "unit": "psi", "method": "gauge"},
    ],
    "work": ["brushed"],
    "products": [{"product": "liquid-chlorine", "amount": 32, "unit": "fl oz", "strength": 125}],
    "upkeep": [{"kind": "backwash"}],
    "seen": [],
    "parts_to_order": [],
    "photos": [],
    "note": "",
    "skipped": "",
    "took_over": False,
}


class FollowUpOut(BaseModel):
    """A job that follows from a record."""

    id: str
    record_id: str
    site_id: str
    kind: FollowUpKind
    due_on: date
    urgent: bool
    reason: str
    minutes: int
    noted_on: date
    about: ReadingKind | None
    settled_on: date | None
    settled_by: str
    outcome: str

    @classmethod
    def of(cls, one: FollowUp) -> FollowUpOut:
        """The JSON of a follow-up."""
        return cls(**{name: getattr(one, name) for name in cls.model_fields})


class TakenInOut(BaseModel):
    """What became of one record."""

    outcome: Outcome
    record_id: str
    flags: list[str] = Field(description="what is odd about it; it was kept all the same")
    follow_ups: list[FollowUpOut]
    code: str = Field(description="why it was set aside; empty otherwise")
    detail: str
    aside: str = Field(description="under what it was set aside; empty otherwise")

    @classmethod
    def of(cls, one: TakenIn) -> TakenInOut:
        """The JSON of what became of a record."""
        return cls(
            outcome=one.outcome,
            record_id=one.record_id,
            flags=[measured(flag) for flag in one.flags],
            follow_ups=[FollowUpOut.of(asked) for asked in one.follow_ups],
            code=one.error.code if one.error else "",
            detail=str(one.error) if one.error else "",
            aside=one.aside,
        )


class RecordOut(BaseModel):
    """A record as it stands."""

    version: int
    flags: list[str]
    received_at: datetime
    minutes: float | None
    record: dict[str, Any] = Field(examples=[RECORD_EXAMPLE])

    @classmethod
    def of(cls, kept: KeptRecord) -> RecordOut:
        """The JSON of a record."""
        return cls(
            version=kept.version,
            flags=[measured(flag) for flag in kept.flags],
            received_at=kept.received_at,
            minutes=kept.record.minutes,
            record=content_of(kept.record),
        )


class VersionOut(BaseModel):
    """One version of a record."""

    version: int
    changed_at: datetime
    changed_by: str
    reason: str
    record: dict[str, Any]

    @classmethod
    def of(cls, one: RecordVersion) -> VersionOut:
        """The JSON of a version."""
        return cls(
            version=one.version,
            changed_at=one.changed_at,
            changed_by=one.changed_by,
            reason=one.reason,
            record=content_of(one.record),
        )


class CorrectionIn(BaseModel):
    """A correction: the fields that change, who makes it and why."""

    fields: dict[str, Any]
    by: str
    reason: str


class AcceptIn(BaseModel):
    """Taking in what was set aside, with some fields changed."""

    by: str
    fields: dict[str, Any] = Field(default_factory=dict)


class DismissIn(BaseModel):
    """Saying that what was set aside is not wanted."""

    by: str
    why: str


class SettleIn(BaseModel):
    """Closing a follow-up."""

    by: str
    outcome: str


class AsideOut(BaseModel):
    """What could not be kept, word for word."""

    id: str
    record_id: str
    content: Any
    code: str
    reason: str
    received_at: datetime

    @classmethod
    def of(cls, one: Aside) -> AsideOut:
        """The JSON of something set aside."""
        return cls(**{name: getattr(one, name) for name in cls.model_fields})


class PhotoOut(BaseModel):
    """A photo that was received; a record names its id."""

    id: str
    media_type: str
    size_b: int

    @classmethod
    def of(cls, photo: Photo) -> PhotoOut:
        """The JSON of a photo."""
        return cls(id=photo.id, media_type=photo.media_type, size_b=photo.size_b)


class ReadingOut(BaseModel):
    """One reading of a history, in the unit it is kept in."""

    at: datetime
    kind: ReadingKind
    value: float
    unit: str
    method: str
    odd: str

    @classmethod
    def of(cls, point: ReadingAt) -> ReadingOut:
        """The JSON of a reading."""
        reading = point.reading
        return cls(
            at=point.at,
            kind=reading.kind,
            value=reading.value,
            unit=LIMITS[reading.kind].unit,
            method=reading.method,
            odd=measured(reading.odd),
        )


class FileTakenInOut(BaseModel):
    """What became of a file of records."""

    kept: int
    known: int
    aside: list[TakenInOut]
