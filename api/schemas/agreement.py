"""JSON of windows, seasons, overtime and one-off work."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from api.schemas.named import NamedDay
from dispatch.clock import LAST_S
from dispatch.one_offs import OneOff, usual_span
from dispatch.preflight import Cause, Finding
from dispatch.rhythms import Rhythm, Season
from dispatch.service_plan import Priority, VisitKind
from dispatch.sites import Hold
from dispatch.technicians import Overtime, SupplyStop
from dispatch.windows import ALL_DAY, TimeWindow


class WindowOut(BaseModel):
    """When service may begin, seconds after local midnight, both ends included.

    0 to 86,400 is any time; beyond 86,400 are the hours after midnight of a night shift.
    """

    start_s: int = Field(ge=0, le=LAST_S)
    end_s: int = Field(ge=0, le=LAST_S)

    @classmethod
    def of(cls, window: TimeWindow) -> WindowOut:
        """The JSON of a time window."""
        start_s, end_s = window.pair
        return cls(start_s=start_s, end_s=end_s)


class SeasonOut(BaseModel):
    """Another rhythm in a part of every year, both days included."""

    first: str = Field(description="as Nov-01")
    last: str
    rhythm: Rhythm | None = Field(description="null: no visits")
    service_min: int | None

    @classmethod
    def of(cls, season: Season) -> SeasonOut:
        """The JSON of a season."""
        return cls(
            first=str(season.first),
            last=str(season.last),
            rhythm=season.rhythm,
            service_min=season.service_min,
        )


class OvertimeOut(BaseModel):
    """Work beyond the regular hours, minutes."""

    day_most_min: int
    week_regular_min: int
    week_most_min: int
    pay_factor: float

    @classmethod
    def of(cls, overtime: Overtime) -> OvertimeOut:
        """The JSON of overtime."""
        return cls(
            day_most_min=overtime.day_most_min,
            week_regular_min=overtime.week_regular_min,
            week_most_min=overtime.week_most_min,
            pay_factor=overtime.pay_factor,
        )


class SupplyStopOut(BaseModel):
    """A paid stop to fill up on the way."""

    lat: float
    lon: float
    minutes: int

    @classmethod
    def of(cls, supply: SupplyStop) -> SupplyStopOut:
        """The JSON of a supply stop."""
        return cls(lat=supply.place.lat, lon=supply.place.lon, minutes=supply.minutes)


class OneOffIn(BaseModel):
    """One-off work to be added; days that are left out follow from the kind and today."""

    id: str | None = Field(default=None, description="the next free one when not given")
    site_id: str
    title: str = Field(min_length=1)
    kind: VisitKind = VisitKind.ONE_OFF
    first_day: NamedDay | None = None
    last_day: NamedDay | None = None
    minutes: list[int] = Field(min_length=1, description="of each visit")
    consecutive: bool | None = Field(default=None, description="true for green-pool by default")
    skills: list[str] = []
    crew: int = Field(default=1, description="persons it needs")
    windows: list[WindowOut] = Field(default=[], description="empty: as agreed for the site")
    priority: Priority = Priority.NORMAL
    parts: str = ""
    mass_kg: float = 0.0
    chemicals_kg: float = Field(default=0.0, description="regulated, gross")
    technician_id: str | None = Field(default=None, description="the only one who may come")
    note: str = ""

    def value(self, free_id: str, today: date) -> OneOff:
        """The work, which checks itself (raises InvalidValue)."""
        first, last = usual_span(self.kind, today)
        return OneOff(
            id=self.id or free_id,
            site_id=self.site_id,
            title=self.title,
            kind=self.kind,
            first_day=self.first_day or first,
            last_day=self.last_day or max(last, self.first_day or last),
            minutes=tuple(self.minutes),
            consecutive=(
                self.kind is VisitKind.GREEN_POOL if self.consecutive is None else self.consecutive
            ),
            skills=frozenset(self.skills),
            crew=self.crew,
            windows=tuple(TimeWindow(one.start_s, one.end_s) for one in self.windows) or ALL_DAY,
            priority=self.priority,
            parts=self.parts,
            mass_kg=self.mass_kg,
            chemicals_kg=self.chemicals_kg,
            technician_id=self.technician_id,
            note=self.note,
        )


class OneOffOut(BaseModel):
    """Work at a site outside its rhythm."""

    id: str
    site_id: str
    title: str
    kind: VisitKind
    first_day: date
    last_day: date
    minutes: list[int]
    consecutive: bool
    skills: list[str]
    crew: int
    windows: list[WindowOut]
    priority: Priority
    parts: str
    mass_kg: float
    chemicals_kg: float
    technician_id: str | None
    note: str
    visited_on: list[date]
    done_on: date | None

    @classmethod
    def of(cls, work: OneOff) -> OneOffOut:
        """The JSON of one-off work."""
        return cls(
            id=work.id,
            site_id=work.site_id,
            title=work.title,
            kind=work.kind,
            first_day=work.first_day,
            last_day=work.last_day,
            minutes=list(work.minutes),
            consecutive=work.consecutive,
            skills=sorted(work.skills),
            crew=work.crew,
            windows=[WindowOut.of(window) for window in work.windows],
            priority=work.priority,
            parts=work.parts,
            mass_kg=work.mass_kg,
            chemicals_kg=work.chemicals_kg,
            technician_id=work.technician_id,
            note=work.note,
            visited_on=list(work.visited_on),
            done_on=work.done_on,
        )


class OnDayIn(BaseModel):
    """The day something took place; today when not given."""

    on: NamedDay | None = None


class HoldIn(BaseModel):
    """A hold to be added: no visits from the first day to the last, both included."""

    site_id: str
    first_day: NamedDay
    last_day: NamedDay
    reason: str = Field(default="", max_length=2000)

    def value(self) -> Hold:
        """The hold, which checks itself (raises InvalidValue)."""
        return Hold(self.site_id, self.first_day, self.last_day, self.reason)


class HoldEndIn(BaseModel):
    """Another last day of a hold."""

    last_day: NamedDay


class FindingOut(BaseModel):
    """One thing that is wrong with a week before it is planned."""

    cause: Cause
    thing: str
    value: str
    mend: str
    sentence: str

    @classmethod
    def of(cls, finding: Finding) -> FindingOut:
        """The JSON of a finding."""
        return cls(
            cause=finding.cause,
            thing=finding.thing,
            value=finding.value,
            mend=finding.mend,
            sentence=finding.sentence,
        )
