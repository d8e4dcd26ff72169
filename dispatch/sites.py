"""Sites: a pool at an address, what has been agreed for it and what stands on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from dispatch.clock import DAY_S, WEEKDAYS, format_time
from dispatch.errors import InvalidValue
from dispatch.places import Place

LONGEST_SERVICE_MIN = 12 * 60  # minutes; anything longer is a slip of the pen


class Rhythm(StrEnum):
    """How often a site is visited."""

    TWICE_A_WEEK = "twice-a-week"
    WEEKLY = "weekly"
    EVERY_2_WEEKS = "every-2-weeks"
    EVERY_4_WEEKS = "every-4-weeks"

    @property
    def visits_per_week(self) -> int:
        """Visits in a week in which the site is served."""
        return 2 if self is Rhythm.TWICE_A_WEEK else 1

    @property
    def every_weeks(self) -> int:
        """Weeks from one served week to the next."""
        return {Rhythm.EVERY_2_WEEKS: 2, Rhythm.EVERY_4_WEEKS: 4}.get(self, 1)


class Sanitizer(StrEnum):
    """What keeps the water clean."""

    CHLORINE = "chlorine"
    SALT = "salt"  # chlorine made on the spot from salt by a cell
    BROMINE = "bromine"
    OTHER = "other"


class Media(StrEnum):
    """What a filter filters with."""

    SAND = "sand"
    CARTRIDGE = "cartridge"
    DE = "de"  # diatomaceous earth


@dataclass(frozen=True, slots=True)
class Filter:
    """A filter and the age of its media; `media_mass_kg` is the dry mass of the whole filling."""

    media: Media
    media_changed_on: date | None = None
    media_mass_kg: float | None = None

    def __post_init__(self) -> None:
        if self.media_mass_kg is not None and not 0 < self.media_mass_kg <= 2000:
            raise InvalidValue(
                f"A filter filling of {self.media_mass_kg} kg is not believable: give 1 to 2000 "
                "kg, or leave it empty."
            )


@dataclass(frozen=True, slots=True)
class Anode:
    """A sacrificial anode: when it was put in, and when its film was last cleaned off."""

    installed_on: date | None = None
    cleaned_on: date | None = None


@dataclass(frozen=True, slots=True)
class SaltCell:
    """A salt cell: when it was put in, last inspected and last cleaned."""

    installed_on: date | None = None
    inspected_on: date | None = None
    cleaned_on: date | None = None


@dataclass(frozen=True, slots=True)
class Equipment:
    """What stands at a site and ages; None where there is no such thing."""

    filter: Filter | None = None
    anode: Anode | None = None
    salt_cell: SaltCell | None = None


@dataclass(frozen=True, slots=True)
class TimeWindow:
    """When service may begin, in seconds after local midnight, both ends included."""

    start_s: int
    end_s: int

    def __post_init__(self) -> None:
        if not 0 <= self.start_s <= self.end_s <= DAY_S:
            raise InvalidValue(
                f"The time window {format_time(self.start_s)} to {format_time(self.end_s)} is "
                "empty or leaves the day: give a start before the end, within 00:00 to 24:00."
            )


ANY_TIME = TimeWindow(0, DAY_S)
MONDAY_TO_FRIDAY = frozenset(range(5))


@dataclass(frozen=True, slots=True)
class ServicePlan:
    """What has been agreed with a customer.

    Weekdays are numbered 0 (Monday) to 6. `anchor_on` is a day on which a visit was scheduled;
    visits every second or fourth week are counted from it, never from calendar-week parity.
    A lock on technician or weekday is what planning may not change; without the lock the usual
    one is preferred at a price.

    Raises
    ------
    InvalidValue
        On minutes that are not believable, no allowed weekday, a usual weekday that is not
        allowed, a lock without the thing it locks, or fewer weekdays than visits.
    """

    rhythm: Rhythm
    service_min: int
    allowed_weekdays: frozenset[int] = MONDAY_TO_FRIDAY
    window: TimeWindow = ANY_TIME
    usual_technician_id: str | None = None
    usual_weekdays: frozenset[int] = frozenset()
    technician_locked: bool = False
    weekday_locked: bool = False
    skills: frozenset[str] = frozenset()
    last_visit_on: date | None = None
    anchor_on: date | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.service_min <= LONGEST_SERVICE_MIN:
            raise InvalidValue(
                f"A service of {self.service_min} minutes is not believable: give 1 to "
                f"{LONGEST_SERVICE_MIN} minutes."
            )
        self._check_weekdays()
        if self.technician_locked and self.usual_technician_id is None:
            raise InvalidValue("The technician is locked but none is named: name one or unlock.")
        if self.weekday_locked and not self.usual_weekdays:
            raise InvalidValue("The weekday is locked but none is named: name one or unlock.")

    def _check_weekdays(self) -> None:
        if not self.allowed_weekdays or not self.allowed_weekdays <= frozenset(range(7)):
            raise InvalidValue("No allowed weekday is given: name at least one of Mon to Sun.")
        stray = self.usual_weekdays - self.allowed_weekdays
        if stray:
            raise InvalidValue(
                f"The usual weekday {names_of(stray)} is not among the allowed weekdays "
                f"{names_of(self.allowed_weekdays)}: allow it or choose another."
            )
        visits = self.rhythm.visits_per_week
        open_days = self.usual_weekdays if self.weekday_locked else self.allowed_weekdays
        if open_days and len(open_days) < visits:
            raise InvalidValue(
                f"The rhythm '{self.rhythm}' needs {visits} weekdays but only "
                f"{names_of(open_days)} is open to planning: allow more weekdays or change the "
                "rhythm."
            )


@dataclass(frozen=True, slots=True)
class Site:
    """A pool at an address.

    `place` is where the truck stops: the gate, not the roof. `pool_volume_l` is in litres.
    """

    id: str
    name: str
    address: str
    place: Place
    plan: ServicePlan
    gate_note: str = ""
    gate_code: str = ""
    dog_note: str = ""
    pool_volume_l: float | None = None
    sanitizer: Sanitizer = Sanitizer.CHLORINE
    equipment: Equipment = field(default_factory=Equipment)

    def __post_init__(self) -> None:
        if not self.id or not self.name:
            raise InvalidValue("A site needs an id and a name.")
        if self.pool_volume_l is not None and not 500 <= self.pool_volume_l <= 10_000_000:
            raise InvalidValue(
                f"A pool of {self.pool_volume_l} litres is not believable: give 500 to 10,000,000, "
                "or leave it empty."
            )


@dataclass(frozen=True, slots=True)
class Hold:
    """A dated span, both days included, in which a site gets no visits; it ends by itself."""

    site_id: str
    first_day: date
    last_day: date
    reason: str = ""

    def __post_init__(self) -> None:
        if self.last_day < self.first_day:
            raise InvalidValue(
                f"The hold of site {self.site_id} ends on {self.last_day}, before it begins on "
                f"{self.first_day}: swap the two days."
            )

    def covers(self, day: date) -> bool:
        """Whether `day` lies in the hold."""
        return self.first_day <= day <= self.last_day


def names_of(weekdays: frozenset[int]) -> str:
    """Weekday names in week order, as in 'Mon, Thu'."""
    return ", ".join(WEEKDAYS[n] for n in sorted(weekdays))
