"""What upsets a day, as values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispatch.day.state import Noted
from dispatch.day.work import Work
from dispatch.errors import InvalidValue
from dispatch.words import _

FARTHEST_M = 50_000.0  # radius of a closed area; more is a slip of the pen
LONGEST_OVERRUN_S = 12 * 3600  # seconds; as the longest service


@dataclass(frozen=True, slots=True)
class TechnicianOut:
    """A technician can do nothing that would begin at `from_s` or later (seconds of the day)."""

    technician_id: str
    from_s: int

    def words(self, name: str) -> str:
        """What happened to whom, in a few words that a history can begin with."""
        return _("{name} is out").format(name=name)


@dataclass(frozen=True, slots=True)
class TechnicianBack:
    """A technician who was out works again from `at_s` on (seconds of the day)."""

    technician_id: str
    at_s: int

    def words(self, name: str) -> str:
        """What happened to whom, in a few words that a history can begin with."""
        return _("{name} is back").format(name=name)


@dataclass(frozen=True, slots=True)
class LateStart:
    """A technician cannot set out before `at_s` (seconds of the day)."""

    technician_id: str
    at_s: int

    def words(self, name: str) -> str:
        """What happened to whom, in a few words that a history can begin with."""
        return _("{name} starts late").format(name=name)


@dataclass(frozen=True, slots=True)
class UrgentStop:
    """A visit that was not due today and must be."""

    work: Work

    def words(self, name: str) -> str:
        """What happened to whom, in a few words that a history can begin with."""
        return _("Urgent stop at {name}").format(name=name)


@dataclass(frozen=True, slots=True)
class StopMoved:
    """A visit that goes to another day: to `to_day`, or to the cheapest of its days."""

    visit_id: str
    to_day: date | None = None

    def words(self, name: str) -> str:
        """What happened to whom, in a few words that a history can begin with."""
        return _("The stop at {name} goes to another day").format(name=name)


@dataclass(frozen=True, slots=True)
class StopCancelled:
    """A visit that is not wanted any more."""

    visit_id: str

    def words(self, name: str) -> str:
        """What happened to whom, in a few words that a history can begin with."""
        return _("The stop at {name} is cancelled").format(name=name)


@dataclass(frozen=True, slots=True)
class JobOverrun:
    """A visit lasts `extra_s` seconds longer than it was to."""

    visit_id: str
    extra_s: int

    def __post_init__(self) -> None:
        if not 0 < self.extra_s <= LONGEST_OVERRUN_S:
            raise InvalidValue(
                _(
                    "A visit that lasts {extra:g} minutes longer is not believable: give 1 to 720."
                ).format(extra=self.extra_s / 60)
            )

    def words(self, name: str) -> str:
        """What happened to whom, in a few words that a history can begin with."""
        return _("The stop at {name} takes {extra} min longer").format(
            name=name, extra=self.extra_s // 60
        )


@dataclass(frozen=True, slots=True)
class RoadClosed:
    """No street within `radius_m` metres of a point can be driven (degrees, WGS 84)."""

    lat: float
    lon: float
    radius_m: float

    def __post_init__(self) -> None:
        if not (-90 <= self.lat <= 90 and -180 <= self.lon <= 180):
            raise InvalidValue(
                _("{lat}, {lon} is no place: give latitude and longitude.").format(
                    lat=self.lat, lon=self.lon
                )
            )
        if not 0 < self.radius_m <= FARTHEST_M:
            raise InvalidValue(
                _(
                    "A closed area with a radius of {radius:g} m is not believable: give more "
                    "than 0 and up to {farthest:g}."
                ).format(radius=self.radius_m, farthest=FARTHEST_M)
            )

    @property
    def area(self) -> tuple[float, float, float]:
        """The closed area: latitude, longitude, metres."""
        return self.lat, self.lon, self.radius_m

    def words(self, _name: str) -> str:
        """What happened, in a few words that a history can begin with."""
        return _("A road is closed")


@dataclass(frozen=True, slots=True)
class RoadReopened:
    """The streets of an area that was closed today can be driven again (degrees, metres)."""

    lat: float
    lon: float
    radius_m: float

    @property
    def area(self) -> tuple[float, float, float]:
        """The area as it was closed: latitude, longitude, metres."""
        return self.lat, self.lon, self.radius_m

    def words(self, _name: str) -> str:
        """What happened, in a few words that a history can begin with."""
        return _("A road is open again")


@dataclass(frozen=True, slots=True)
class RunningLate:
    """Nothing new: put right what is late, too long or without a place as things stand."""

    def words(self, _name: str) -> str:
        """What happened, in a few words that a history can begin with."""
        return _("The day runs late")


Trigger = (
    TechnicianOut
    | TechnicianBack
    | LateStart
    | UrgentStop
    | StopMoved
    | StopCancelled
    | JobOverrun
    | RoadClosed
    | RoadReopened
    | RunningLate
)


def noted_of(trigger: Trigger) -> Noted:
    """What is to be noted of a trigger for the rest of the day."""
    match trigger:
        case LateStart(who, at_s):
            return Noted(late=((who, at_s),))
        case TechnicianOut(who, from_s):
            return Noted(out=((who, from_s),))
        case TechnicianBack(who, at_s):
            return Noted(back=((who, at_s),))
        case RoadClosed():
            return Noted(closed=(trigger.area,))
        case RoadReopened():
            return Noted(reopened=(trigger.area,))
        case _:
            return Noted()
