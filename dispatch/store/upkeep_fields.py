"""Columns of the company's own table of upkeep, and of upkeep spread over the coming weeks."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import JSON
from sqlmodel import Field, SQLModel

ID_LENGTH = 64  # characters; as that of sites and technicians
KIND_LENGTH = 40
WEEK_PATTERN = r"^\d{4}-W\d{2}$"


class UpkeepKindFields(SQLModel):
    """A kind of upkeep as the company changed it; a kind without a row is as delivered.

    The intervals are months and days from the day it was last done, all empty where only a
    reading brings it about. See `dispatch.upkeep_rules.UpkeepRule`.
    """

    kind: str = Field(primary_key=True, max_length=KIND_LENGTH)
    active: bool
    earliest_months: int | None = Field(default=None, ge=0, le=600)
    earliest_days: int | None = Field(default=None, ge=0, le=3650)
    due_months: int | None = Field(default=None, ge=0, le=600)
    due_days: int | None = Field(default=None, ge=0, le=3650)
    latest_months: int | None = Field(default=None, ge=0, le=600)
    latest_days: int | None = Field(default=None, ge=0, le=3650)
    run_hours: float | None = Field(default=None, gt=0, le=200_000)
    threshold: float | None = Field(default=None, ge=0)
    minutes: int = Field(ge=1, le=480)
    gross_minutes: int = Field(ge=1, le=960)
    crew: int = Field(ge=1, le=4)
    skill: str | None = Field(default=None, max_length=ID_LENGTH)
    months: list[int] = Field(sa_type=JSON)
    parts: list[dict[str, Any]] = Field(sa_type=JSON)
    filling_kg: float | None = Field(default=None, gt=0, le=2000)
    wet_factor: float | None = Field(default=None, ge=1, le=5)
    caution: str = Field(max_length=2000)
    source: str = Field(max_length=2000)


class LevelRunFields(SQLModel):
    """The latest spreading of upkeep over the weeks; `bound` is what no spreading can beat."""

    id: int = Field(primary_key=True)
    first_week: str = Field(regex=WEEK_PATTERN, max_length=8)
    weeks: int = Field(ge=1, le=60)
    made_on: date
    cost: float
    bound: float
    inputs_digest: str
    late: list[dict[str, Any]] = Field(sa_type=JSON)


class LevelSlotFields(SQLModel):
    """One upkeep in its week; `number` tells repeats of a kind at a site apart, 1 first."""

    site_id: str = Field(
        primary_key=True, foreign_key="site.id", ondelete="CASCADE", max_length=ID_LENGTH
    )
    kind: str = Field(primary_key=True, max_length=KIND_LENGTH)
    number: int = Field(primary_key=True, ge=1)
    title: str
    week: str = Field(regex=WEEK_PATTERN, max_length=8)
    day: date
    technician_id: str = Field(max_length=ID_LENGTH)
    earliest_on: date
    due_on: date
    latest_on: date
    minutes: int = Field(ge=0)
    mass_kg: float = Field(ge=0)


class LevelLoadFields(SQLModel):
    """What a technician's week has room for and what upkeep takes of it, in minutes."""

    technician_id: str = Field(
        primary_key=True, foreign_key="technician.id", ondelete="CASCADE", max_length=ID_LENGTH
    )
    week: str = Field(primary_key=True, regex=WEEK_PATTERN, max_length=8)
    shift_min: int = Field(ge=0)
    visit_min: int = Field(ge=0)
    drive_min: int = Field(ge=0)
    room_min: int = Field(ge=0)
    upkeep_min: int = Field(ge=0)
    mass_kg: float = Field(ge=0)
