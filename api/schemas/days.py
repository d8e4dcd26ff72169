"""JSON of loads and day sheets. A day sheet is for the technician: it holds the gate code."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from api.day_loads import DayLoad
from api.schemas.agreement import OneOffOut
from api.schemas.due import UpkeepDueOut
from dispatch.actions.day_sheet import DaySheet, SheetStop
from dispatch.sites import Sanitizer
from dispatch.upkeep import Part


class DayLoadOut(BaseModel):
    """One technician's day in seconds."""

    technician_id: str
    name: str
    day: date
    stops: int
    service_s: int = Field(description="without upkeep")
    upkeep_s: int
    drive_s: int
    break_s: int
    other_s: int = Field(description="waiting for a window, and the supply stop")
    shift_s: int = Field(description="capacity of the day")
    slack_s: int = Field(description="below zero when the day is overfull")

    @classmethod
    def of(cls, load: DayLoad) -> DayLoadOut:
        """The JSON of a day's load."""
        return cls(
            technician_id=load.technician_id,
            name=load.name,
            day=load.day,
            stops=load.stops,
            service_s=load.service_s,
            upkeep_s=load.upkeep_s,
            drive_s=load.drive_s,
            break_s=load.break_s,
            other_s=load.other_s,
            shift_s=load.shift_s,
            slack_s=load.slack_s,
        )


class SheetStopOut(BaseModel):
    """One stop with what is needed at its gate."""

    number: int
    visit_id: str
    site_id: str
    name: str
    address: str
    lat: float
    lon: float
    gate_note: str
    gate_code: str
    dog_note: str
    pad_note: str
    pool_volume_l: float | None
    sanitizer: Sanitizer
    drive_s: int
    drive_m: int
    arrive_s: int
    start_s: int
    leave_s: int
    upkeep: list[UpkeepDueOut]
    one_off: OneOffOut | None

    @classmethod
    def of(cls, row: SheetStop) -> SheetStopOut:
        """The JSON of a stop."""
        site, stop = row.site, row.stop
        return cls(
            number=row.number,
            visit_id=stop.visit_id,
            site_id=site.id,
            name=site.name,
            address=site.address,
            lat=site.place.lat,
            lon=site.place.lon,
            gate_note=site.gate_note,
            gate_code=site.gate_code,
            dog_note=site.dog_note,
            pad_note=site.pad_note,
            pool_volume_l=site.pool_volume_l,
            sanitizer=site.sanitizer,
            drive_s=stop.drive_s,
            drive_m=stop.drive_m,
            arrive_s=stop.arrive_s,
            start_s=stop.start_s,
            leave_s=stop.leave_s,
            upkeep=[UpkeepDueOut.of(one) for one in row.upkeep],
            one_off=None if row.work is None else OneOffOut.of(row.work),
        )


class DaySheetOut(BaseModel):
    """One technician's day; `why_empty` says why there is no stop."""

    technician_id: str
    name: str
    day: date
    start_s: int | None
    end_s: int | None
    break_after: int | None
    break_start_s: int | None
    break_s: int
    stops: list[SheetStopOut]
    load: list[Part]
    load_kg: float
    waste_kg: float
    why_empty: str

    @classmethod
    def of(cls, sheet: DaySheet) -> DaySheetOut:
        """The JSON of a day sheet."""
        route = sheet.route
        return cls(
            technician_id=sheet.technician.id,
            name=sheet.technician.name,
            day=sheet.day,
            start_s=None if route is None else route.start_s,
            end_s=None if route is None else route.end_s,
            break_after=None if route is None else route.break_after,
            break_start_s=None if route is None else route.break_start_s,
            break_s=0 if route is None else route.break_s,
            stops=[SheetStopOut.of(stop) for stop in sheet.stops],
            load=list(sheet.load),
            load_kg=sheet.load_kg,
            waste_kg=sheet.waste_kg,
            why_empty=sheet.why_empty,
        )
