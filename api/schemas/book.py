"""JSON of sites, technicians and holds. Gate codes are left out: they belong on day sheets only."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from api.schemas.agreement import OvertimeOut, SeasonOut, SupplyStopOut, WindowOut
from dispatch.clock import WEEKDAYS
from dispatch.service_plan import Priority
from dispatch.sites import Equipment, Hold, NoticeWish, Rhythm, Sanitizer, Site
from dispatch.technicians import Technician


class SiteOut(BaseModel):
    """A site with what has been agreed for it and what stands there."""

    id: str
    name: str
    address: str
    lat: float = Field(description="degrees, WGS 84")
    lon: float = Field(description="degrees, WGS 84")
    rhythm: Rhythm
    service_min: int
    allowed_weekdays: list[str]
    windows: list[WindowOut]
    usual_technician_id: str | None
    usual_weekdays: list[str]
    technician_locked: bool
    weekday_locked: bool
    skills: list[str]
    gate_note: str
    dog_note: str
    pad_note: str
    email: str = Field(description="where the customer is told of visits; empty: nowhere")
    notices: list[NoticeWish] = Field(description="what the customer is told")
    pool_volume_l: float | None = Field(description="litres")
    sanitizer: Sanitizer
    equipment: Equipment
    last_visit_on: date | None
    anchor_on: date | None
    unwanted_technician_ids: list[str]
    crew: int = Field(description="persons a visit needs")
    priority: Priority
    seasons: list[SeasonOut]
    first_service_min: int | None
    started_on: date | None
    chemicals_kg: float = Field(description="regulated chemicals a visit takes, kg gross")
    monthly_price: float | None = Field(description="paid a month for the visits")

    @classmethod
    def of(cls, site: Site) -> SiteOut:
        """The JSON of a site."""
        plan = site.plan
        return cls(
            id=site.id,
            name=site.name,
            address=site.address,
            lat=site.place.lat,
            lon=site.place.lon,
            rhythm=plan.rhythm,
            service_min=plan.service_min,
            allowed_weekdays=_weekdays(plan.allowed_weekdays),
            windows=[WindowOut.of(window) for window in plan.windows],
            usual_technician_id=plan.usual_technician_id,
            usual_weekdays=_weekdays(plan.usual_weekdays),
            technician_locked=plan.technician_locked,
            weekday_locked=plan.weekday_locked,
            skills=sorted(plan.skills),
            gate_note=site.gate_note,
            dog_note=site.dog_note,
            pad_note=site.pad_note,
            email=site.email,
            notices=sorted(site.notices),
            pool_volume_l=site.pool_volume_l,
            sanitizer=site.sanitizer,
            equipment=site.equipment,
            last_visit_on=plan.last_visit_on,
            anchor_on=plan.anchor_on,
            unwanted_technician_ids=sorted(plan.unwanted_technician_ids),
            crew=plan.crew,
            priority=plan.priority,
            seasons=[SeasonOut.of(season) for season in plan.seasons],
            first_service_min=plan.first_service_min,
            started_on=plan.started_on,
            chemicals_kg=plan.chemicals_kg,
            monthly_price=plan.monthly_price,
        )


class ShiftOut(BaseModel):
    """Working hours of one weekday."""

    weekday: str
    start_s: int
    end_s: int


class TechnicianOut(BaseModel):
    """A technician and the truck."""

    id: str
    name: str
    shifts: list[ShiftOut]
    start_lat: float
    start_lon: float
    end_lat: float
    end_lon: float
    break_min: int | None
    break_earliest_s: int | None
    break_latest_s: int | None
    skills: list[str]
    payload_kg: float
    days_off: list[date]
    overtime: OvertimeOut | None
    slack_share: float = Field(description="of the shift, left free by planning")
    crew: list[int] = Field(description="persons aboard, Monday first")
    supply: SupplyStopOut | None
    chemicals_most_kg: float = Field(description="regulated chemicals aboard, kg gross")

    @classmethod
    def of(cls, technician: Technician) -> TechnicianOut:
        """The JSON of a technician."""
        meal = technician.meal
        return cls(
            id=technician.id,
            name=technician.name,
            shifts=[
                ShiftOut(weekday=weekday, start_s=shift.start_s, end_s=shift.end_s)
                for weekday, shift in zip(WEEKDAYS, technician.shifts, strict=True)
                if shift is not None
            ],
            start_lat=technician.start.lat,
            start_lon=technician.start.lon,
            end_lat=technician.end.lat,
            end_lon=technician.end.lon,
            break_min=None if meal is None else meal.minutes,
            break_earliest_s=None if meal is None else meal.earliest_s,
            break_latest_s=None if meal is None else meal.latest_s,
            skills=sorted(technician.skills),
            payload_kg=technician.payload_kg,
            days_off=sorted(technician.days_off),
            overtime=OvertimeOut.of(technician.overtime) if technician.overtime else None,
            slack_share=technician.slack_share,
            crew=list(technician.crew),
            supply=SupplyStopOut.of(technician.supply) if technician.supply else None,
            chemicals_most_kg=technician.chemicals_most_kg,
        )


class HoldOut(BaseModel):
    """A dated span, both days included, without visits."""

    site_id: str
    first_day: date
    last_day: date
    reason: str

    @classmethod
    def of(cls, hold: Hold) -> HoldOut:
        """The JSON of a hold."""
        return cls(
            site_id=hold.site_id,
            first_day=hold.first_day,
            last_day=hold.last_day,
            reason=hold.reason,
        )


class GateCodeOut(BaseModel):
    """The code of a gate; empty where it has none."""

    gate_code: str


class ImportOut(BaseModel):
    """How many rows of a table were taken in, and what to look at all the same."""

    imported: int
    warnings: list[str] = []


class BadRowOut(BaseModel):
    """One row of a table that could not be taken in."""

    line: int
    column: str
    value: str
    mend: str
    sentence: str


class ProblemOut(BaseModel):
    """An error, as RFC 9457 writes it."""

    type: str
    title: str
    status: int
    detail: str
    code: str
    command: str = ""
    problems: list[BadRowOut] = []


def _weekdays(numbers: frozenset[int]) -> list[str]:
    return [WEEKDAYS[number] for number in sorted(numbers)]
