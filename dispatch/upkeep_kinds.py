"""What a kind of upkeep is: its intervals, what brings it about, and what it takes.

The table itself, with the sources of its numbers, is in `dispatch.upkeep_rules`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dateutil.relativedelta import relativedelta

from dispatch.errors import InvalidValue
from dispatch.words import _

EVERY_MONTH = frozenset(range(1, 13))


class CountsFrom(StrEnum):
    """The date of a piece of equipment from which an interval runs: the day it was last done."""

    SAND = "sand"  # the filter's media, where it is sand
    CARTRIDGE = "cartridge"  # the filter's media, where it is a cartridge
    DE = "de"  # the filter's media, where it is diatomaceous earth
    SAND_BED = "sand-bed"  # last backwash of a sand filter, or its media change
    PLEATS = "pleats"  # last rinsing of a cartridge, or its change
    DE_CAKE = "de-cake"  # last recharge of a DE filter, or its teardown
    ANODE = "anode"  # when the anode was put in
    ANODE_FILM = "anode-film"  # when it was last cleaned, or put in
    CELL = "cell"  # when the cell was put in
    CELL_LOOK = "cell-look"  # when the cell was last inspected, cleaned or put in
    CELL_SCALE = "cell-scale"  # when the cell was last cleaned or put in
    PUMP_ORING = "pump-oring"  # when the o-ring of the pump basket was last renewed
    PUMP_SEAL = "pump-seal"  # when the shaft seal was last renewed
    HEATER = "heater"  # when the heater was last serviced
    COVER_LOOK = "cover-look"  # when the drain covers were last checked
    COVER_DATE = "cover-date"  # the date on the covers; intervals run back from it


class Trigger(StrEnum):
    """A condition that brings upkeep about whatever the calendar says."""

    PRESSURE = "pressure"  # rise over the clean baseline at the same pump speed; kPa
    TIRED_MEDIA = "tired-media"  # cleaned too often in 30 days, or baseline not regained; cleanings
    ANODE_LEFT = "anode-left"  # share left by eye
    CELL_LOW = "cell-low"  # current as a share of its own usual one, salt and temperature good
    SCALE = "scale"  # scale seen by the last inspection; needs no threshold
    CELL_SPENT = "cell-spent"  # output test of a clean cell as a share of its rating
    COVER = "cover"  # a cover found loose, cracked or missing; needs no threshold


@dataclass(frozen=True, slots=True)
class Interval:
    """A span of calendar months and days.

    Months keep the day of the month and are cut to the month's end where it has no such day:
    six months after 31 August is 28 February. (A recurrence rule would skip that month.)
    """

    months: int
    days: int = 0

    def __post_init__(self) -> None:
        if self.months < 0 or self.days < 0 or self.months + self.days == 0:
            raise InvalidValue(
                _(
                    "An interval of {months} months and {days} days leads nowhere: give at "
                    "least one day."
                ).format(months=self.months, days=self.days)
            )

    def after(self, day: date) -> date:
        """The day this long after `day`; months are added first, then days."""
        return day + relativedelta(months=self.months, days=self.days)


@dataclass(frozen=True, slots=True)
class Part:
    """A part or material to load: how many of it and its mass altogether, in kg."""

    name: str
    quantity: float
    mass_kg: float

    def __post_init__(self) -> None:
        if not self.name or not 0 < self.quantity <= 1000 or not 0 <= self.mass_kg <= 2000:
            raise InvalidValue(
                _(
                    "The part '{name}', {quantity:g} of {mass:g} kg, is not believable: give a "
                    "name, a number up to 1000 and a mass up to 2000 kg."
                ).format(name=self.name, quantity=self.quantity, mass=self.mass_kg)
            )


@dataclass(frozen=True, slots=True)
class MediaLoad:
    """The filling of a filter as a part to load.

    The mass is that of the site's filter, `default_kg` where it is not known. `unit_kg` is the
    mass of one bag and whole bags are loaded; without it the filling is one piece. The old
    filling comes back wet, `wet_factor` times as heavy as the dry one.
    """

    name: str
    default_kg: float
    wet_factor: float
    unit_kg: float | None = None

    def part(self, filling_kg: float | None) -> Part:
        """What to load for a filling of `filling_kg` (None: not known)."""
        mass_kg = filling_kg or self.default_kg
        if self.unit_kg is None:
            return Part(self.name, 1, round(mass_kg, 1))
        spare = 0.05  # of a bag: nobody loads another bag for a scoop of sand; common practice
        bags = max(1, -int(-(mass_kg / self.unit_kg - spare) // 1))
        return Part(self.name, bags, round(bags * self.unit_kg, 1))

    def waste_kg(self, filling_kg: float | None) -> float:
        """Mass of the old filling, wet, that the truck brings back; kg."""
        return round((filling_kg or self.default_kg) * self.wet_factor, 1)


@dataclass(frozen=True, slots=True)
class UpkeepRule:
    """One kind of upkeep.

    `earliest`, `due` and `latest` run from the day the same upkeep was last done; all three are
    None where only a condition brings it about. `run_hours` is the life of what runs by the hour,
    where the register does not know the maker's figure. `trigger` beats the calendar once it
    passes `threshold`, in the unit of the trigger. `minutes` (net) are what a visit grows by,
    `gross_minutes` how long the job lasts (0: as long; a soaking cell works while the technician
    brushes); both are those of one person out of `crew`. `months` are the months in which it may
    be done unless it would pass its latest day. `media` is the filling that is renewed, `parts`
    what is needed besides it. `spares` names kinds that are needless when this one is due before
    they must be done (a new anode wants no cleaning). `closes_pool` marks what lets nobody bathe
    until it is done. `caution` is what the technician reads; `source` says where the numbers come
    from. A kind that is not `active` never falls due.

    Raises
    ------
    InvalidValue
        When the three intervals do not rise, nothing brings the upkeep about, or the minutes, the
        crew, the months or the threshold are not believable.
    """

    kind: str
    title: str
    counts_from: CountsFrom
    earliest: Interval | None
    due: Interval | None
    latest: Interval | None
    minutes: int
    caution: str
    source: str
    skill: str | None = None
    media: MediaLoad | None = None
    parts: tuple[Part, ...] = ()
    spares: tuple[str, ...] = ()
    run_hours: float | None = None
    trigger: Trigger | None = None
    threshold: float | None = None
    gross_minutes: int = 0
    crew: int = 1
    months: frozenset[int] = EVERY_MONTH
    closes_pool: bool = False
    active: bool = True

    def __post_init__(self) -> None:
        self._check_intervals()
        if not 1 <= self.minutes <= 480:
            raise InvalidValue(
                _(
                    "The upkeep '{kind}' of {minutes} minutes does not fit into a day: give 1 "
                    "to 480 minutes."
                ).format(kind=self.kind, minutes=self.minutes)
            )
        if self.gross_minutes and not self.minutes <= self.gross_minutes <= 960:
            raise InvalidValue(
                _(
                    "The upkeep '{kind}' lasts {gross_minutes} minutes but adds {minutes} to "
                    "the visit: give a length from {minutes} to 960 minutes."
                ).format(kind=self.kind, gross_minutes=self.gross_minutes, minutes=self.minutes)
            )
        if not 1 <= self.crew <= 4:
            raise InvalidValue(
                _("A crew of {crew} for '{kind}' is not believable: give 1 to 4 people.").format(
                    crew=self.crew, kind=self.kind
                )
            )
        if not self.months or not self.months <= EVERY_MONTH:
            raise InvalidValue(
                _(
                    "The upkeep '{kind}' may be done in no month: name at least one of 1 to 12."
                ).format(kind=self.kind)
            )
        if self.threshold is not None and not self.threshold > 0:
            raise InvalidValue(
                _(
                    "The threshold {threshold:g} of '{kind}' would always be passed: give more "
                    "than 0."
                ).format(threshold=self.threshold, kind=self.kind)
            )

    def _check_intervals(self) -> None:
        given = [one for one in (self.earliest, self.due, self.latest) if one is not None]
        if not given:
            if self.run_hours is None and self.trigger is None:
                raise InvalidValue(
                    _(
                        "Nothing brings the upkeep '{kind}' about: give an interval, run-hours "
                        "or a condition."
                    ).format(kind=self.kind)
                )
            return
        day = date(2026, 1, 1)  # any day that no month's end cuts short
        ends = [one.after(day) for one in given]
        if len(given) < 3 or ends != sorted(ends):
            raise InvalidValue(
                _(
                    "The upkeep '{kind}' has intervals that do not rise: give the earliest "
                    "first, then the due, then the latest, or none of them."
                ).format(kind=self.kind)
            )

    @property
    def gross(self) -> int:
        """Minutes that the job lasts, soaking and draining included."""
        return self.gross_minutes or self.minutes

    def is_offered_in(self, day: date) -> bool:
        """Whether `day` lies in a month in which it may be done."""
        return day.month in self.months
