"""JSON of the table of upkeep, of upkeep spread over weeks, and of lives forecast."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, ConfigDict, Field

from dispatch.intake.upkeep_edits import texts_of
from dispatch.levelling.values import MOST_WEEKS
from dispatch.store.levelling import KeptLevelling
from dispatch.upkeep_rules import UpkeepRule


class UpkeepKindOut(BaseModel):
    """A kind of upkeep; the fields are the texts that may be sent back."""

    kind: str
    title: str
    changed: bool = Field(description="whether the company changed it")
    trigger: str = Field(description="the condition that brings it about; empty for none")
    fields: dict[str, str]

    @classmethod
    def of(cls, rule: UpkeepRule, *, changed: bool) -> UpkeepKindOut:
        """The JSON of a kind."""
        return cls(
            kind=rule.kind,
            title=rule.title,
            changed=changed,
            trigger=str(rule.trigger or ""),
            fields=texts_of(rule),
        )


class UpkeepKindIn(BaseModel):
    """Fields of a kind to change, as texts; those left out stay."""

    model_config = ConfigDict(extra="forbid")

    fields: dict[str, str]


class LevelIn(BaseModel):
    """How far to spread upkeep."""

    weeks: int = Field(default=52, ge=1, le=MOST_WEEKS)


class SlotOut(BaseModel):
    """One upkeep in its week."""

    site_id: str
    kind: str
    title: str
    week: str
    day: date
    technician_id: str
    due_on: date
    latest_on: date
    minutes: int
    mass_kg: float


class WeekLoadOut(BaseModel):
    """A technician's week in minutes."""

    technician_id: str
    week: str
    shift_min: int
    visit_min: int
    drive_min: int
    room_min: int = Field(description="what upkeep may take")
    upkeep_min: int
    mass_kg: float


class LevellingOut(BaseModel):
    """Upkeep spread over the coming weeks."""

    first_week: str
    weeks: int
    made_on: date
    cost: float
    bound: float = Field(description="no spreading costs less")
    gap: float = Field(description="share of the bound by which the cost may be above the best")
    left_out: list[str] = Field(description="a sentence for each upkeep without a week")
    slots: list[SlotOut]
    loads: list[WeekLoadOut]

    @classmethod
    def of(cls, kept: KeptLevelling) -> LevellingOut:
        """The JSON of a spreading."""
        return cls(
            first_week=str(kept.first_week),
            weeks=kept.weeks,
            made_on=kept.made_on,
            cost=kept.cost,
            bound=kept.bound,
            gap=kept.gap,
            left_out=list(kept.left_out),
            slots=[
                SlotOut(
                    site_id=one.site_id,
                    kind=one.kind,
                    title=one.title,
                    week=str(one.week),
                    day=one.day,
                    technician_id=one.technician_id,
                    due_on=one.due_on,
                    latest_on=one.latest_on,
                    minutes=one.minutes,
                    mass_kg=one.mass_kg,
                )
                for one in kept.slots
            ],
            loads=[
                WeekLoadOut(
                    technician_id=one.technician_id,
                    week=str(one.week),
                    shift_min=one.shift_min,
                    visit_min=one.visit_min,
                    drive_min=one.drive_min,
                    room_min=one.room_min,
                    upkeep_min=one.upkeep_min,
                    mass_kg=one.mass_kg,
                )
                for one in kept.loads
            ],
        )
