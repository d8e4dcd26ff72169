"""JSON of what is due in a week."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from dispatch.service_plan import Priority, VisitKind
from dispatch.upkeep import Part, UpkeepDue
from dispatch.upkeep_causes import DueBy, Figure
from dispatch.visits import DueBecause, NotDue, VisitsDue, WeekDue


class VisitsDueOut(BaseModel):
    """Visits that one demand owes; planning takes one of the patterns of days."""

    site_id: str
    demand_id: str = Field(description="the site's id, or that of a one-off job")
    kind: VisitKind
    title: str = Field(description="what a one-off job is; empty for regular visits")
    count: int
    patterns: list[list[date]]
    service_min: list[int] = Field(description="minutes of each visit")
    crew: int = Field(description="persons that a visit needs")
    priority: Priority
    because: DueBecause
    note: str

    @classmethod
    def of(cls, due: VisitsDue) -> VisitsDueOut:
        """The JSON of visits due."""
        return cls(
            site_id=due.site_id,
            demand_id=due.demand_id,
            kind=due.kind,
            title=due.title,
            count=due.count,
            patterns=[list(pattern) for pattern in due.patterns],
            service_min=list(due.service_min),
            crew=due.crew,
            priority=due.priority,
            because=due.because,
            note=due.note,
        )


class NotDueOut(BaseModel):
    """A site, or a one-off job, without a visit in the week, and why."""

    site_id: str
    demand_id: str
    reason: str
    next_due_on: date | None

    @classmethod
    def of(cls, not_due: NotDue) -> NotDueOut:
        """The JSON of a site that is not due."""
        return cls(
            site_id=not_due.site_id,
            demand_id=not_due.demand_id,
            reason=not_due.reason,
            next_due_on=not_due.next_due_on,
        )


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
    reason: str = Field(description="why it is due, in words; pressures in kPa")
    by: DueBy | None = Field(description="the clock that brought it about")
    figures: list[Figure] = Field(description="the numbers of the reason with their units")
    urgent: bool = Field(description="a condition asks for it at the very next visit")
    closes_pool: bool = Field(description="nobody may bathe until it is done")
    set_for: date | None = Field(description="Monday of the week that levelling has set")
    gross_minutes: int = Field(description="how long the job lasts, soaking included")
    crew: int

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
            reason="" if due.cause is None else due.cause.words(),
            by=None if due.cause is None else due.cause.by,
            figures=[] if due.cause is None else list(due.cause.figures),
            urgent=due.is_urgent,
            closes_pool=due.closes_pool,
            set_for=due.set_for,
            gross_minutes=due.gross_minutes,
            crew=due.crew,
        )
