"""JSON of repairs: what happened, options with their prices, and the one that is taken."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from pydantic import BaseModel, Field
from sqlmodel import Session

from api.schemas.named import NamedDay
from dispatch.actions.day import Offer, urgent_stop
from dispatch.clock import LAST_S
from dispatch.day.options import Choice, Option
from dispatch.day.triggers import (
    JobOverrun,
    LateStart,
    RoadClosed,
    RoadReopened,
    RunningLate,
    StopCancelled,
    StopMoved,
    TechnicianBack,
    TechnicianOut,
    Trigger,
)
from dispatch.errors import InvalidValue
from dispatch.settings import Settings
from dispatch.windows import TimeWindow
from dispatch.words import N_, _, joined


class TriggerKind(StrEnum):
    """What can upset a day."""

    TECHNICIAN_OUT = "technician-out"
    TECHNICIAN_BACK = "technician-back"
    LATE_START = "late-start"
    URGENT_STOP = "urgent-stop"
    STOP_MOVED = "stop-moved"
    STOP_CANCELLED = "stop-cancelled"
    JOB_OVERRUN = "job-overrun"
    ROAD_CLOSED = "road-closed"
    ROAD_REOPENED = "road-reopened"
    RUNNING_LATE = "running-late"


NEEDS = {
    TriggerKind.TECHNICIAN_OUT: ("technician_id", "at_s"),
    TriggerKind.TECHNICIAN_BACK: ("technician_id", "at_s"),
    TriggerKind.LATE_START: ("technician_id", "at_s"),
    TriggerKind.URGENT_STOP: ("site_id", "minutes"),
    TriggerKind.STOP_MOVED: ("visit_id",),
    TriggerKind.STOP_CANCELLED: ("visit_id",),
    TriggerKind.JOB_OVERRUN: ("visit_id", "minutes"),
    TriggerKind.ROAD_CLOSED: ("lat", "lon", "radius_m"),
    TriggerKind.ROAD_REOPENED: ("lat", "lon", "radius_m"),
    TriggerKind.RUNNING_LATE: (),
}
WHAT_HAPPENED = {
    TriggerKind.TECHNICIAN_OUT: N_("A technician is out"),
    TriggerKind.TECHNICIAN_BACK: N_("A technician is back"),
    TriggerKind.LATE_START: N_("A technician starts late"),
    TriggerKind.URGENT_STOP: N_("An urgent stop"),
    TriggerKind.STOP_MOVED: N_("A stop goes to another day"),
    TriggerKind.STOP_CANCELLED: N_("A stop is cancelled"),
    TriggerKind.JOB_OVERRUN: N_("A job takes longer"),
    TriggerKind.ROAD_CLOSED: N_("A road is closed"),
    TriggerKind.ROAD_REOPENED: N_("A road is open again"),
    TriggerKind.RUNNING_LATE: N_("The day runs late"),
}
FIELDS = {  # what a dispatcher calls each field
    "technician_id": N_("which technician"),
    "at_s": N_("the time"),
    "site_id": N_("which customer"),
    "minutes": N_("how many minutes"),
    "visit_id": N_("which stop"),
    "lat": N_("the latitude"),
    "lon": N_("the longitude"),
    "radius_m": N_("the radius"),
}
READABLE = {  # what each field may be, where something else was written
    "kind": N_("There is no such repair: choose one on the page of the day."),
    "at_s": N_("The time cannot be read: write it as 10:30."),
    "minutes": N_("The minutes must be a whole number from 1 to 720: write as many as it takes."),
    "to_day": N_("The other day is no date: choose one, as 2026-12-01, or leave it empty."),
    "lat": N_("The latitude must be a number of degrees from -90 to 90, as 33.45."),
    "lon": N_("The longitude must be a number of degrees from -180 to 180, as -112.07."),
    "radius_m": N_("The radius must be a number above 0: write how far around streets are closed."),
}


def unreadable(field: str) -> str:
    """Say what a field may be, in words that a dispatcher understands."""
    known = READABLE.get(field)
    if known is not None:
        return _(known)
    return _("'{field}' of what happened cannot be read: ask on the page of the day.").format(
        field=field
    )


class TriggerIn(BaseModel):
    """What happened; each kind needs its own fields.

    `technician-out`, `technician-back` and `late-start`: technician_id, at_s. `urgent-stop`:
    site_id, minutes, and optionally window_from_s, window_to_s, title. `stop-moved`: visit_id,
    optionally to_day. `stop-cancelled`: visit_id. `job-overrun`: visit_id, minutes. `road-closed`
    and `road-reopened`: lat, lon, radius_m.
    """

    kind: TriggerKind
    technician_id: str = ""
    at_s: int | None = Field(default=None, ge=0, description="seconds of the day, local")
    site_id: str = ""
    minutes: int = Field(default=0, ge=0, le=720)
    window_from_s: int | None = Field(default=None, ge=0, le=LAST_S)
    window_to_s: int | None = Field(default=None, ge=0, le=LAST_S)
    title: str = Field(default="", max_length=200)
    visit_id: str = ""
    to_day: NamedDay | None = None
    lat: float | None = Field(default=None, ge=-90, le=90)
    lon: float | None = Field(default=None, ge=-180, le=180)
    radius_m: float | None = None

    def trigger(self, session: Session, settings: Settings, day: date) -> Trigger:
        """The trigger as a value.

        Raises
        ------
        InvalidValue
            When a field that the kind needs is missing, or a value cannot be.
        NotFound
            On an urgent stop at an unknown site.
        """
        given = {name: getattr(self, name) for name in NEEDS[self.kind]}
        missing = [name for name, value in given.items() if value in ("", None)]
        missing += ["minutes"] if given.get("minutes") == 0 else []
        if missing:
            raise InvalidValue(
                _("'{happened}' lacks something: say {missing}, and ask again.").format(
                    happened=_(WHAT_HAPPENED[self.kind]),
                    missing=joined([_(FIELDS[name]) for name in missing]),
                )
            )
        if self.kind is TriggerKind.URGENT_STOP:
            window = None
            if self.window_from_s is not None and self.window_to_s is not None:
                window = TimeWindow(self.window_from_s, self.window_to_s)
            return urgent_stop(
                session,
                settings,
                day,
                self.site_id,
                minutes=self.minutes,
                title=self.title,
                window=window,
            )
        return self._plain()

    def _plain(self) -> Trigger:
        made: dict[TriggerKind, Trigger] = {
            TriggerKind.TECHNICIAN_OUT: TechnicianOut(self.technician_id, self.at_s or 0),
            TriggerKind.TECHNICIAN_BACK: TechnicianBack(self.technician_id, self.at_s or 0),
            TriggerKind.LATE_START: LateStart(self.technician_id, self.at_s or 0),
            TriggerKind.STOP_MOVED: StopMoved(self.visit_id, self.to_day),
            TriggerKind.STOP_CANCELLED: StopCancelled(self.visit_id),
            TriggerKind.RUNNING_LATE: RunningLate(),
        }
        if self.kind is TriggerKind.JOB_OVERRUN:
            return JobOverrun(self.visit_id, 60 * self.minutes)
        if self.kind is TriggerKind.ROAD_CLOSED:
            return RoadClosed(self.lat or 0.0, self.lon or 0.0, self.radius_m or 0.0)
        if self.kind is TriggerKind.ROAD_REOPENED:
            return RoadReopened(self.lat or 0.0, self.lon or 0.0, self.radius_m or 0.0)
        return made[self.kind]


class OfferOut(BaseModel):
    """Options for a day; take one with its `choice` and the `version`."""

    day: date
    version: int
    why: str
    options: list[Option]

    @classmethod
    def of(cls, offer: Offer) -> OfferOut:
        """The JSON of options."""
        return cls(day=offer.day, version=offer.version, why=offer.why, options=list(offer.options))


class TakeIn(BaseModel):
    """The option to take, and the version of the day that it was made for."""

    expected_version: int = Field(ge=0)
    choice: Choice
