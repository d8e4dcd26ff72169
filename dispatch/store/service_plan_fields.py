"""The columns of service plans, one-off work and the technicians' rules, and their limits.

Windows are JSON pairs of seconds after local midnight; seasons are JSON objects. See
`dispatch.service_plan`, `dispatch.one_offs` and `dispatch.technicians`.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import JSON, String
from sqlmodel import Field, SQLModel

from dispatch.one_offs import MOST_VISITS
from dispatch.rhythms import Rhythm
from dispatch.service_plan import (
    LONGEST_SERVICE_MIN,
    MOST_CHEMICALS_KG,
    MOST_CREW,
    MOST_MONTHLY_PRICE,
    Priority,
    VisitKind,
)

ID_LENGTH = 64  # characters; ids come from the companies' own lists
NAME_LENGTH = 200
NOTE_LENGTH = 2000


class ServicePlanFields(SQLModel):
    """What has been agreed about the visits to a site."""

    rhythm: Rhythm = Field(sa_type=String)
    service_min: int = Field(ge=1, le=LONGEST_SERVICE_MIN)
    allowed_weekdays: list[int] = Field(sa_type=JSON)
    windows: list[tuple[int, int]] = Field(sa_type=JSON, min_length=1)
    # Not a foreign key: sites may be imported before the technicians they name.
    usual_technician_id: str | None = Field(default=None, max_length=ID_LENGTH)
    usual_weekdays: list[int] = Field(sa_type=JSON)
    technician_locked: bool
    weekday_locked: bool
    skills: list[str] = Field(sa_type=JSON)
    last_visit_on: date | None = None
    anchor_on: date | None = None
    unwanted_technician_ids: list[str] = Field(sa_type=JSON)
    crew: int = Field(ge=1, le=MOST_CREW)
    priority: Priority = Field(sa_type=String)
    seasons: list[dict[str, Any]] = Field(sa_type=JSON)
    first_service_min: int | None = Field(default=None, ge=1, le=LONGEST_SERVICE_MIN)
    started_on: date | None = None
    chemicals_kg: float = Field(ge=0, le=MOST_CHEMICALS_KG)
    monthly_price: float | None = Field(default=None, ge=0, le=MOST_MONTHLY_PRICE)


class TechnicianRuleFields(SQLModel):
    """Overtime, slack, persons aboard and chemicals of a technician's truck.

    `crew` holds seven numbers, Monday first. The `overtime_...` columns are all empty without
    overtime, the `supply_...` columns without a supply stop.
    """

    overtime_day_most_min: int | None = Field(default=None, ge=1)
    overtime_week_most_min: int | None = Field(default=None, ge=1)
    overtime_week_regular_min: int | None = Field(default=None, ge=1)
    overtime_pay_factor: float | None = Field(default=None, ge=1)
    slack_share: float = Field(ge=0, le=1)
    crew: list[int] = Field(sa_type=JSON, min_length=7, max_length=7)
    supply_lat: float | None = Field(default=None, ge=-90, le=90)
    supply_lon: float | None = Field(default=None, ge=-180, le=180)
    supply_min: int | None = Field(default=None, ge=1)
    chemicals_most_kg: float = Field(ge=0)


class OneOffFields(SQLModel):
    """Work at a site outside its rhythm; `minutes` has the length of each visit."""

    id: str = Field(primary_key=True, min_length=1, max_length=ID_LENGTH)
    site_id: str = Field(foreign_key="site.id", ondelete="CASCADE")
    title: str = Field(min_length=1, max_length=NAME_LENGTH)
    kind: VisitKind = Field(sa_type=String)
    first_day: date
    last_day: date
    minutes: list[int] = Field(sa_type=JSON, min_length=1, max_length=MOST_VISITS)
    consecutive: bool
    skills: list[str] = Field(sa_type=JSON)
    crew: int = Field(ge=1, le=MOST_CREW)
    windows: list[tuple[int, int]] = Field(sa_type=JSON, min_length=1)
    priority: Priority = Field(sa_type=String)
    parts: str = Field(max_length=NOTE_LENGTH)
    mass_kg: float = Field(ge=0)
    chemicals_kg: float = Field(ge=0, le=MOST_CHEMICALS_KG)
    technician_id: str | None = Field(default=None, max_length=ID_LENGTH)
    note: str = Field(max_length=NOTE_LENGTH)
    visited_on: list[str] = Field(sa_type=JSON)
    done_on: date | None = None
