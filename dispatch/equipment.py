"""The register of a site's equipment: what stands there, since when, and how it was last found.

Every fact may be missing: None means that nobody knows, and never that something is new. Masses
are kg, pressures kPa gauge, speeds rpm. What a technician did or found moves these facts by
`equipment_after` in `dispatch.equipment_done`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.words import _

QUARTER_OF_MONTH = (0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3, 0)  # January to December; see SeasonHours


class Media(StrEnum):
    """What a filter filters with."""

    SAND = "sand"
    CARTRIDGE = "cartridge"
    DE = "de"  # diatomaceous earth


class Fuel(StrEnum):
    """What a heater burns, or runs on."""

    GAS = "gas"
    PROPANE = "propane"
    ELECTRIC = "electric"  # heat pump or element
    SOLAR = "solar"


class Surface(StrEnum):
    """What the shell of a pool is lined with."""

    PLASTER = "plaster"
    VINYL = "vinyl"
    FIBREGLASS = "fibreglass"
    TILE = "tile"


class CoverState(StrEnum):
    """How the drain and suction covers were found."""

    SOUND = "sound"
    LOOSE = "loose"
    CRACKED = "cracked"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class SeasonHours:
    """Hours a day that something runs, by quarter of the year; 0 in a quarter without use.

    The quarters are named by their months, which mean the same on both halves of the globe.
    """

    dec_feb: float
    mar_may: float
    jun_aug: float
    sep_nov: float

    def __post_init__(self) -> None:
        for hours in self.by_quarter:
            if not 0 <= hours <= 24:
                raise InvalidValue(
                    _("A run of {hours} hours a day is not possible: give 0 to 24.").format(
                        hours=hours
                    )
                )

    @property
    def by_quarter(self) -> tuple[float, float, float, float]:
        """The four figures, December first."""
        return (self.dec_feb, self.mar_may, self.jun_aug, self.sep_nov)

    def on(self, day: date) -> float:
        """Hours of the quarter that holds `day`."""
        return self.by_quarter[QUARTER_OF_MONTH[day.month - 1]]


@dataclass(frozen=True, slots=True)
class Filter:
    """A filter, the age of its media and the pressure it has when clean.

    `media_mass_kg` is the dry mass of the whole filling. `clean_kpa` was read on `clean_on`, just
    after a backwash or a cleaning, at a pump speed of `clean_rpm` (None: a pump of one speed).
    `rise_kpa` is the rise over it at which this filter is to be cleaned; None: as in the table of
    upkeep. `cleaned_on` is the last backwash, recharge or rinsing of the cartridge.
    """

    media: Media
    media_changed_on: date | None = None
    media_mass_kg: float | None = None
    cleaned_on: date | None = None
    clean_kpa: float | None = None
    clean_on: date | None = None
    clean_rpm: float | None = None
    rise_kpa: float | None = None

    def __post_init__(self) -> None:
        if self.media_mass_kg is not None and not 0 < self.media_mass_kg <= 2000:
            raise InvalidValue(
                _(
                    "A filter filling of {media_mass} kg is not believable: give 1 to 2000 kg, "
                    "or leave it empty."
                ).format(media_mass=self.media_mass_kg)
            )
        _check_span(_("clean pressure"), self.clean_kpa, 0, 450, _("kPa; 10 psi are 69 kPa"))
        _check_dated(_("clean pressure of a filter"), self.clean_kpa, self.clean_on)
        _check_span(_("pump speed"), self.clean_rpm, 100, 3600, "rpm")
        _check_span(_("rise of pressure"), self.rise_kpa, 7, 210, _("kPa; 10 psi are 69 kPa"))


@dataclass(frozen=True, slots=True)
class Anode:
    """A sacrificial anode: put in, its film last cleaned off, and what is left of it by eye.

    `remaining_share` (1 is new) was judged on `judged_on`.
    """

    installed_on: date | None = None
    cleaned_on: date | None = None
    remaining_share: float | None = None
    judged_on: date | None = None

    def __post_init__(self) -> None:
        _check_span(_("share left of an anode"), self.remaining_share, 0, 1, _("as 0.5 for half"))
        _check_dated(_("share left of an anode"), self.remaining_share, self.judged_on)


@dataclass(frozen=True, slots=True)
class SaltCell:
    """A salt cell: put in, last inspected and cleaned, how long it runs and what it still makes.

    `rated_hours` is the maker's life in run-hours. `scaled` says whether the last inspection saw
    scale (None: nobody said). `output_share` of the rated output was measured on `tested_on`.
    """

    installed_on: date | None = None
    inspected_on: date | None = None
    cleaned_on: date | None = None
    rated_hours: float | None = None
    hours_per_day: SeasonHours | None = None
    scaled: bool | None = None
    output_share: float | None = None
    tested_on: date | None = None

    def __post_init__(self) -> None:
        _check_span(_("life of a salt cell"), self.rated_hours, 500, 100_000, "run-hours")
        _check_span(
            _("output of a salt cell"), self.output_share, 0, 1.5, _("of its rating, as 0.8")
        )
        _check_dated(_("output of a salt cell"), self.output_share, self.tested_on)


@dataclass(frozen=True, slots=True)
class Pump:
    """A pump: whether its speed varies, and when its seal and basket o-ring were renewed."""

    variable_speed: bool | None = None
    seal_changed_on: date | None = None
    oring_changed_on: date | None = None


@dataclass(frozen=True, slots=True)
class Heater:
    """A heater and its last service."""

    fuel: Fuel | None = None
    serviced_on: date | None = None


@dataclass(frozen=True, slots=True)
class DrainCovers:
    """The drain and suction covers: until when they may stay, last checked, and how found.

    `expires_on` is the earliest date on any of the covers.
    """

    expires_on: date | None = None
    checked_on: date | None = None
    state: CoverState | None = None

    def __post_init__(self) -> None:
        if self.state not in (None, CoverState.SOUND):
            _check_dated(
                _("drain cover found {state}").format(state=self.state), 1, self.checked_on
            )


@dataclass(frozen=True, slots=True)
class Shell:
    """The pool's shell: its surface, since when, and whether its volume was measured.

    A volume is measured by the salt added and the rise of the reading; otherwise it is an
    estimate from length, width and depth, good to 10-15 % (common practice).
    """

    surface: Surface | None = None
    surfaced_on: date | None = None
    volume_measured: bool = False


@dataclass(frozen=True, slots=True)
class Equipment:
    """What stands at a site and ages; None where there is no such thing."""

    filter: Filter | None = None
    anode: Anode | None = None
    salt_cell: SaltCell | None = None
    pump: Pump | None = None
    heater: Heater | None = None
    covers: DrainCovers | None = None
    shell: Shell = field(default_factory=Shell)


def _check_span(thing: str, value: float | None, least: float, most: float, unit: str) -> None:
    if value is not None and not least <= value <= most:
        raise InvalidValue(
            _(
                "A {thing} of {value:g} is not believable: give {least:g} to {most:g} {unit}."
            ).format(thing=thing, value=value, least=least, most=most, unit=unit)
        )


def _check_dated(thing: str, value: float | None, on: date | None) -> None:
    if value is not None and on is None:
        raise InvalidValue(
            _("A {thing} says nothing without its day: give the day it was found.").format(
                thing=thing
            )
        )
