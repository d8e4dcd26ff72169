"""The columns of a site's equipment and their limits; see `dispatch.equipment`.

Every column may be empty, because an older database has none of those added later.
"""

from __future__ import annotations

from datetime import date

from sqlalchemy import JSON, String
from sqlmodel import Field, SQLModel

from dispatch.equipment import CoverState, Fuel, Surface


class EquipmentFields(SQLModel):
    """Equipment beyond the dates that `SiteFields` holds; pressures kPa, speeds rpm.

    `cell_hours_per_day` has four figures: Dec-Feb, Mar-May, Jun-Aug, Sep-Nov.
    """

    filter_cleaned_on: date | None = None
    filter_clean_kpa: float | None = Field(default=None, ge=0, le=450)
    filter_clean_on: date | None = None
    filter_clean_rpm: float | None = Field(default=None, ge=100, le=3600)
    filter_rise_kpa: float | None = Field(default=None, ge=7, le=210)
    anode_remaining_share: float | None = Field(default=None, ge=0, le=1)
    anode_judged_on: date | None = None
    cell_rated_hours: float | None = Field(default=None, ge=500, le=100_000)
    cell_hours_per_day: list[float] | None = Field(default=None, sa_type=JSON)
    cell_scaled: bool | None = None
    cell_output_share: float | None = Field(default=None, ge=0, le=1.5)
    cell_tested_on: date | None = None
    has_pump: bool | None = None
    pump_variable_speed: bool | None = None
    pump_seal_changed_on: date | None = None
    pump_oring_changed_on: date | None = None
    has_heater: bool | None = None
    heater_fuel: Fuel | None = Field(default=None, sa_type=String)
    heater_serviced_on: date | None = None
    has_covers: bool | None = None
    covers_expire_on: date | None = None
    covers_checked_on: date | None = None
    covers_state: CoverState | None = Field(default=None, sa_type=String)
    surface: Surface | None = Field(default=None, sa_type=String)
    surfaced_on: date | None = None
    volume_measured: bool | None = None
