"""What upsets a day, as values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispatch.day.work import Work
from dispatch.errors import InvalidValue

FARTHEST_M = 50_000.0  # radius of a closed area; more is a slip of the pen
LONGEST_OVERRUN_S = 12 * 3600  # seconds; as the longest service


@dataclass(frozen=True, slots=True)
class TechnicianOut:
    """A technician can do nothing that would begin at `from_s` or later (seconds of the day)."""

    technician_id: str
    from_s: int

    @property
    def words(self) -> str:
        """What happened, in a few words that a history can begin with."""
        return f"Technician {self.technician_id} is out"


@dataclass(frozen=True, slots=True)
class LateStart:
    """A technician cannot set out before `at_s` (seconds of the day)."""

    technician_id: str
    at_s: int

    @property
    def words(self) -> str:
        """What happened, in a few words that a history can begin with."""
        return f"Technician {self.technician_id} starts late"


@dataclass(frozen=True, slots=True)
class UrgentStop:
    """A visit that was not due today and must be."""

    work: Work

    @property
    def words(self) -> str:
        """What happened, in a few words that a history can begin with."""
        return f"Urgent stop at site {self.work.site_id}"


@dataclass(frozen=True, slots=True)
class StopMoved:
    """A visit that goes to another day: to `to_day`, or to the cheapest of its days."""

    visit_id: str
    to_day: date | None = None

    @property
    def words(self) -> str:
        """What happened, in a few words that a history can begin with."""
        return f"Visit {self.visit_id} goes to another day"


@dataclass(frozen=True, slots=True)
class StopCancelled:
    """A visit that is not wanted any more."""

    visit_id: str

    @property
    def words(self) -> str:
        """What happened, in a few words that a history can begin with."""
        return f"Visit {self.visit_id} is cancelled"


@dataclass(frozen=True, slots=True)
class JobOverrun:
    """A visit lasts `extra_s` seconds longer than it was to."""

    visit_id: str
    extra_s: int

    def __post_init__(self) -> None:
        if not 0 < self.extra_s <= LONGEST_OVERRUN_S:
            raise InvalidValue(
                f"A visit that lasts {self.extra_s / 60:g} minutes longer is not believable: give "
                "1 to 720."
            )

    @property
    def words(self) -> str:
        """What happened, in a few words that a history can begin with."""
        return f"Visit {self.visit_id} takes {self.extra_s // 60} min longer"


@dataclass(frozen=True, slots=True)
class RoadClosed:
    """No street within `radius_m` metres of a point can be driven (degrees, WGS 84)."""

    lat: float
    lon: float
    radius_m: float

    def __post_init__(self) -> None:
        if not (-90 <= self.lat <= 90 and -180 <= self.lon <= 180):
            raise InvalidValue(f"{self.lat}, {self.lon} is no place: give latitude and longitude.")
        if not 0 < self.radius_m <= FARTHEST_M:
            raise InvalidValue(
                f"A closed area with a radius of {self.radius_m:g} m is not believable: give more "
                f"than 0 and up to {FARTHEST_M:g}."
            )

    @property
    def words(self) -> str:
        """What happened, in a few words that a history can begin with."""
        return "A road is closed"


@dataclass(frozen=True, slots=True)
class RunningLate:
    """Nothing new: put right what is late, too long or without a place as things stand."""

    @property
    def words(self) -> str:
        """What happened, in a few words that a history can begin with."""
        return "The day runs late"


Trigger = (
    TechnicianOut
    | LateStart
    | UrgentStop
    | StopMoved
    | StopCancelled
    | JobOverrun
    | RoadClosed
    | RunningLate
)


@dataclass(frozen=True, slots=True)
class Noted:
    """What stays true for the rest of the day: who starts late or is out, where no road is open.

    Seconds of the day by technician; latitude, longitude and metres of each area.
    """

    late: tuple[tuple[str, int], ...] = ()
    out: tuple[tuple[str, int], ...] = ()
    closed: tuple[tuple[float, float, float], ...] = ()

    @classmethod
    def of(cls, trigger: Trigger) -> Noted:
        """What is to be noted of a trigger."""
        if isinstance(trigger, LateStart):
            return cls(late=((trigger.technician_id, trigger.at_s),))
        if isinstance(trigger, TechnicianOut):
            return cls(out=((trigger.technician_id, trigger.from_s),))
        if isinstance(trigger, RoadClosed):
            return cls(closed=((trigger.lat, trigger.lon, trigger.radius_m),))
        return cls()
