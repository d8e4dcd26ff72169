"""JSON of what is due in a week."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel

from dispatch.upkeep import Part, UpkeepDue
from dispatch.visits import DueBecause, NotDue, VisitsDue, WeekDue


class VisitsDueOut(BaseModel):
    """Visits that one site is owed; planning takes one of the patterns of days."""

    site_id: str
    count: int
    patterns: list[list[date]]
    service_min: int
    because: DueBecause
    note: str

    @classmethod
    def of(cls, due: VisitsDue) -> VisitsDueOut:
        """The JSON of visits due."""
        return cls(
            site_id=due.site_id,
            count=due.count,
            patterns=[list(pattern) for pattern in due.patterns],
            service_min=due.service_min,
            because=due.because,
            note=due.note,
        )


class NotDueOut(BaseModel):
    """A site without a visit in the week, and why."""

    site_id: str
    reason: str

    @classmethod
    def of(cls, not_due: NotDue) -> NotDueOut:
        """The JSON of a site that is not due."""
        return cls(site_id=not_due.site_id, reason=not_due.reason)


class WeekDueOut(BaseModel):
    """Every site, either due or not."""

    week: str
    due: list[VisitsDueOut]
    not_due: list[NotDueOut]

    @classmethod
    def of(cls, week: str, value: WeekDue) -> WeekDueOut:
        """The JSON of a week's visits."""
        return cls(
            week=week,
            due=[VisitsDueOut.of(one) for one in value.due],
            not_due=[NotDueOut.of(one) for one in value.not_due],
        )


class UpkeepDueOut(BaseModel):
    """Upkeep that may, should or must be done in the week."""

    id: str
    site_id: str
    kind: str
    title: str
    earliest_on: date
    due_on: date
    latest_on: date
    minutes: int
    skill: str | None
    parts: list[Part]
    waste_kg: float
    mass_kg: float
    caution: str

    @classmethod
    def of(cls, due: UpkeepDue) -> UpkeepDueOut:
        """The JSON of an upkeep due."""
        return cls(
            id=due.id,
            site_id=due.site_id,
            kind=due.kind,
            title=due.title,
            earliest_on=due.earliest_on,
            due_on=due.due_on,
            latest_on=due.latest_on,
            minutes=due.minutes,
            skill=due.skill,
            parts=list(due.parts),
            waste_kg=due.waste_kg,
            mass_kg=due.mass_kg,
            caution=due.caution,
        )
