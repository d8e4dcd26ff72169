"""The columns and their limits, written once; the table rows and the JSON models inherit them.

Sets and lists are JSON: weekdays and skills are never searched for in SQL. Times of day are
seconds after local midnight, masses kg, volumes litres, places degrees (WGS 84).
"""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import JSON, String
from sqlmodel import Field, SQLModel

from dispatch.clock import LAST_S
from dispatch.contacts import LONGEST_EMAIL
from dispatch.sites import Media, Sanitizer
from dispatch.store.equipment_fields import EquipmentFields
from dispatch.store.service_plan_fields import (
    ID_LENGTH,
    NAME_LENGTH,
    NOTE_LENGTH,
    ServicePlanFields,
    TechnicianRuleFields,
)

SEALED_LENGTH = 1200  # characters; a Fernet token of 200 letters of up to 4 bytes has 1,160


class SiteFields(EquipmentFields, ServicePlanFields):
    """A site with its service plan and equipment; see `dispatch.sites`."""

    id: str = Field(primary_key=True, min_length=1, max_length=ID_LENGTH)
    name: str = Field(min_length=1, max_length=NAME_LENGTH)
    address: str = Field(max_length=NAME_LENGTH)
    lat: float = Field(ge=-90, le=90)
    lon: float = Field(ge=-180, le=180)
    gate_note: str = Field(max_length=NOTE_LENGTH)
    gate_code: str = Field(max_length=SEALED_LENGTH, regex=r"^(sealed:.*)?$")
    dog_note: str = Field(max_length=NOTE_LENGTH)
    pad_note: str = Field(max_length=NOTE_LENGTH)
    pool_volume_l: float | None = Field(default=None, ge=500, le=10_000_000)
    sanitizer: Sanitizer = Field(sa_type=String)
    email: str = Field(max_length=LONGEST_EMAIL)
    notices: list[str] = Field(sa_type=JSON)
    filter_media: Media | None = Field(default=None, sa_type=String)
    media_changed_on: date | None = None
    media_mass_kg: float | None = Field(default=None, gt=0, le=2000)
    has_anode: bool
    anode_installed_on: date | None = None
    anode_cleaned_on: date | None = None
    has_salt_cell: bool
    cell_installed_on: date | None = None
    cell_inspected_on: date | None = None
    cell_cleaned_on: date | None = None


class TechnicianFields(TechnicianRuleFields):
    """A technician with shifts, places, skills and truck; see `dispatch.technicians`.

    `shifts` holds seven entries, Monday first: [start_s, end_s], or null on a day without work. A
    night shift ends beyond 86,400.
    """

    id: str = Field(primary_key=True, min_length=1, max_length=ID_LENGTH)
    name: str = Field(min_length=1, max_length=NAME_LENGTH)
    shifts: list[tuple[int, int] | None] = Field(sa_type=JSON, min_length=7, max_length=7)
    start_lat: float = Field(ge=-90, le=90)
    start_lon: float = Field(ge=-180, le=180)
    end_lat: float = Field(ge=-90, le=90)
    end_lon: float = Field(ge=-180, le=180)
    meal_min: int | None = Field(default=None, ge=1, le=180)
    meal_earliest_s: int | None = Field(default=None, ge=0, le=LAST_S)
    meal_latest_s: int | None = Field(default=None, ge=0, le=LAST_S)
    skills: list[str] = Field(sa_type=JSON)
    payload_kg: float = Field(ge=0)
    days_off: list[str] = Field(sa_type=JSON)


class HoldFields(SQLModel):
    """A dated span without visits; a site has at most one that begins on a given day."""

    site_id: str = Field(primary_key=True, foreign_key="site.id", ondelete="CASCADE")
    first_day: date = Field(primary_key=True)
    last_day: date
    reason: str = Field(max_length=NOTE_LENGTH)


class PlanFields(SQLModel):
    """One week plan as a whole; `inputs_digest` names what it was made from."""

    week: str = Field(primary_key=True, regex=r"^\d{4}-W\d{2}$", max_length=8)
    cost_s: int
    seed: int
    iterations: int = Field(ge=0)
    problem_digest: str
    inputs_digest: str


class RouteFields(SQLModel):
    """One technician's day in a plan; `position` keeps the order of the plan."""

    technician_id: str = Field(primary_key=True, foreign_key="technician.id")
    day: date = Field(primary_key=True)
    position: int = Field(ge=0)
    start_s: int
    end_s: int
    drive_s: int = Field(ge=0)
    drive_m: int = Field(ge=0)
    service_s: int = Field(ge=0)
    wait_s: int = Field(ge=0)
    return_drive_s: int = Field(ge=0)
    return_drive_m: int = Field(ge=0)
    break_after: int | None = Field(default=None, ge=0)
    break_start_s: int | None = None
    break_s: int = Field(ge=0)
    load_kg: float = Field(ge=0)
    chemicals_kg: float = Field(ge=0)
    overtime_s: int = Field(ge=0)
    supply_after: int | None = Field(default=None, ge=0)
    supply_start_s: int | None = None
    supply_s: int = Field(ge=0)
    supply_drive_s: int = Field(ge=0)
    supply_drive_m: int = Field(ge=0)


class StopFields(SQLModel):
    """A visit in its route; times are seconds after local midnight."""

    position: int = Field(primary_key=True, ge=0)
    visit_id: str
    site_id: str = Field(foreign_key="site.id")
    drive_s: int = Field(ge=0)
    drive_m: int = Field(ge=0)
    arrive_s: int
    start_s: int
    leave_s: int
    upkeep_ids: list[str] = Field(sa_type=JSON)


class UnplacedFields(SQLModel):
    """A due visit in no route, with its reason; `cells` holds the rules broken, cell by cell."""

    position: int = Field(primary_key=True, ge=0)
    visit_id: str
    site_id: str = Field(foreign_key="site.id")
    reason: str
    cells: list[dict[str, Any]] = Field(sa_type=JSON)


class PutOffFields(SQLModel):
    """Upkeep moved to a later week."""

    position: int = Field(primary_key=True, ge=0)
    upkeep_id: str
    site_id: str = Field(foreign_key="site.id")
    title: str
    by: date
    late: bool
    reason: str


class ChangeFields(SQLModel):
    """A visit that leaves its usual technician or weekday."""

    position: int = Field(primary_key=True, ge=0)
    visit_id: str
    site_id: str = Field(foreign_key="site.id")
    usual: str
    planned: str
    reason: str


class UpkeepFields(SQLModel):
    """Upkeep as it stood when the week was planned, so that a day sheet does not move."""

    upkeep_id: str = Field(primary_key=True)
    site_id: str = Field(foreign_key="site.id")
    kind: str
    title: str
    earliest_on: date
    due_on: date
    latest_on: date
    minutes: int = Field(ge=0)
    skill: str | None = None
    parts: list[dict[str, Any]] = Field(sa_type=JSON)
    waste_kg: float = Field(ge=0)
    caution: str
    cause: dict[str, Any] | None = Field(default=None, sa_type=JSON)
    set_for: date | None = None
    gross_minutes: int | None = Field(default=None, ge=0)
    crew: int | None = Field(default=None, ge=1)
