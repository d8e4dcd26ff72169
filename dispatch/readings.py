"""What a technician reads at a pool, with limits of belief.

A reading is kept in one metric unit for its kind, whatever unit it was read in. Two pairs of
limits stand beside each kind. Outside `possible` a value is a slip of the pen or of the unit and
is refused with the mend; outside `usual` it may well be true, so it is kept and flagged `odd`.
The limits tell mistakes from readings; they say nothing about whether water is safe (see
`dispatch.water.ranges`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.measures import MEASURED, kept_amount, measured
from dispatch.units import BAR_KPA, GALLON_L, celsius, fahrenheit, kpa, psi
from dispatch.words import N_, _, either, written

LONGEST_METHOD = 60  # characters


class ReadingKind(StrEnum):
    """What was read; the comment names the unit the value is kept in."""

    FREE_CHLORINE = "free-chlorine"  # ppm (mg/L)
    TOTAL_CHLORINE = "total-chlorine"  # ppm (mg/L)
    PH = "ph"
    TOTAL_ALKALINITY = "total-alkalinity"  # ppm as CaCO3
    CALCIUM_HARDNESS = "calcium-hardness"  # ppm as CaCO3
    CYANURIC_ACID = "cyanuric-acid"  # ppm (mg/L)
    SALT = "salt"  # ppm (mg/L)
    TDS = "tds"  # ppm (mg/L)
    BORATE = "borate"  # ppm as boron
    WATER_TEMPERATURE = "water-temperature"  # °C
    FILTER_PRESSURE = "filter-pressure"  # kPa gauge
    PUMP_SPEED = "pump-speed"  # rpm
    CELL_CURRENT = "cell-current"  # A
    CELL_VOLTAGE = "cell-voltage"  # V
    FLOW = "flow"  # L/min
    ANODE_REMAINING = "anode-remaining"  # share 0..1, judged by eye


@dataclass(frozen=True, slots=True)
class Limits:
    """Believable values of one kind, in its unit, all ends included.

    `unit` is what the value is kept in, empty for pH; `source` says where the limits come from.
    """

    title: str
    unit: str
    possible: tuple[float, float]
    usual: tuple[float, float]
    source: str


LIMITS: Mapping[ReadingKind, Limits] = {
    ReadingKind.FREE_CHLORINE: Limits(
        N_("Free chlorine"),
        "ppm",
        (0, 100),
        (0, 10),  # ppm; 10 is the upper limit of the CDC's public-pool code, from memory
        N_("usual: CDC Model Aquatic Health Code, from memory; possible: common practice"),
    ),
    ReadingKind.TOTAL_CHLORINE: Limits(
        N_("Total chlorine"), "ppm", (0, 100), (0, 12), N_("common practice, as for free chlorine")
    ),
    ReadingKind.PH: Limits(
        "pH",
        "",
        (3, 11),  # a pool neglected on acid tablets falls below 5; common practice
        (6.8, 8.2),  # the span of a phenol red test; common practice
        N_("common practice"),
    ),
    ReadingKind.TOTAL_ALKALINITY: Limits(
        N_("Total alkalinity"), "ppm", (0, 1000), (40, 240), N_("common practice")
    ),
    ReadingKind.CALCIUM_HARDNESS: Limits(
        N_("Calcium hardness"),
        "ppm",
        (0, 3000),
        (50, 1000),  # ppm; 1000 is the upper end of ANSI/APSP/ICC-11 2019, p. 34
        N_("usual: ANSI/APSP/ICC-11 2019, p. 34; the rest common practice"),
    ),
    ReadingKind.CYANURIC_ACID: Limits(
        N_("Cyanuric acid"),
        "ppm",
        (0, 600),
        (0, 150),  # ppm; upper end of an older trade-institute table in a pool manual
        N_("usual: older trade-institute table; possible: common practice"),
    ),
    ReadingKind.SALT: Limits(
        N_("Salt"),
        "ppm",
        (0, 45_000),  # ppm; sea water has about 35,000
        (0, 6000),  # ppm; generators are run at 2,700 to 3,500
        N_("common practice; generator figures from pages of the trade"),
    ),
    ReadingKind.TDS: Limits(
        N_("Dissolved solids"),
        "ppm",
        (0, 60_000),
        (50, 8000),
        N_("common practice, above that of salt"),
    ),
    ReadingKind.BORATE: Limits(N_("Borate"), "ppm", (0, 300), (0, 80), N_("common practice")),
    ReadingKind.WATER_TEMPERATURE: Limits(
        N_("Water temperature"),
        "°C",
        (-2, 50),
        (2, 40),  # °C; 40 is the upper limit for spas (104 °F), from memory
        N_("usual: spa limit of ANSI/APSP/ICC-11, from memory; possible: common practice"),
    ),
    ReadingKind.FILTER_PRESSURE: Limits(
        N_("Filter pressure"),
        "kPa",
        (0, 450),  # kPa; 65 psi, above the 50 psi for which filter tanks are usually made
        (30, 280),  # kPa; 4 to 40 psi
        N_("common practice"),
    ),
    ReadingKind.PUMP_SPEED: Limits(
        N_("Pump speed"),
        "rpm",
        (0, 3600),  # rpm; a two-pole motor at 60 Hz cannot turn faster
        (600, 3500),
        N_("possible: synchronous speed at 60 Hz; usual: common practice"),
    ),
    ReadingKind.CELL_CURRENT: Limits(
        N_("Cell current"), "A", (0, 50), (0.5, 12), N_("common practice")
    ),
    ReadingKind.CELL_VOLTAGE: Limits(
        N_("Cell voltage"), "V", (0, 60), (6, 40), N_("common practice")
    ),
    ReadingKind.FLOW: Limits(N_("Flow"), "L/min", (0, 3000), (40, 700), N_("common practice")),
    ReadingKind.ANODE_REMAINING: Limits(
        N_("Anode remaining"), "share", (0, 1), (0, 1), N_("a share cannot leave 0 to 1")
    ),
}

_TO_KEPT: Mapping[str, Mapping[str, Callable[[float], float]]] = {
    "ppm": {"ppm": float, "mg/l": float},
    "": {"": float},
    "°C": {"c": float, "f": celsius},
    "kPa": {"kpa": float, "psi": kpa, "bar": lambda bar: bar * BAR_KPA},
    "rpm": {"rpm": float},
    "A": {"a": float},
    "V": {"v": float},
    "L/min": {"l/min": float, "gpm": lambda gpm: gpm * GALLON_L},
    "share": {"share": float, "%": lambda percent: percent / 100},
}


@dataclass(frozen=True, slots=True)
class Reading:
    """One value read, in the unit of its kind.

    `method` is how it was read, as 'drops', 'strip', 'probe', 'gauge' or 'eye'. `odd` says why
    the value was flagged; empty where nothing is odd. `read_value` fills it.

    Raises
    ------
    InvalidValue
        When the value lies outside what is possible; the sentence names the likely slip.
    """

    kind: ReadingKind
    value: float
    method: str = ""
    odd: str = ""

    def __post_init__(self) -> None:
        limits = LIMITS[self.kind]
        low, high = limits.possible
        if not (math.isfinite(self.value) and low <= self.value <= high):
            impossible = _("{title} of {value} is not possible: give {low} to {high}.").format(
                title=_(limits.title),
                value=_shown(self.value, limits.unit),
                low=_least(low, limits.unit),
                high=_shown(high, limits.unit),
            )
            slip = _slip(self.kind, self.value)
            raise InvalidValue(measured(f"{impossible} {slip}").rstrip())
        if len(self.method) > LONGEST_METHOD:
            raise InvalidValue(
                _(
                    "The method '{method}…' of a reading has {number} characters: "
                    "{longest_method} at most."
                ).format(
                    method=self.method[:40], number=len(self.method), longest_method=LONGEST_METHOD
                )
            )


@dataclass(frozen=True, slots=True)
class ReadingAt:
    """One point of a site's history; `at` is aware and in UTC."""

    site_id: str
    at: datetime
    reading: Reading

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise InvalidValue(
                _(
                    "The time {at} of a reading at {site} has no time zone: give it in UTC, as "
                    "2026-11-30T16:05:00Z."
                ).format(at=self.at, site=self.site_id)
            )


class Finding(StrEnum):
    """What a look at equipment found; of a salt cell scale or none, of drain covers their state."""

    SCALED = "scaled"
    NO_SCALE = "no-scale"
    SOUND = "sound"
    LOOSE = "loose"
    CRACKED = "cracked"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class UpkeepDone:
    """Upkeep as it was done: its kind, the day, what remains (a share 0..1), what was found.

    The share is that of an anode judged by eye, or the output of a salt cell of its rating.
    """

    kind: str
    on: date
    remaining_share: float | None = None
    note: str = ""
    finding: Finding | None = None

    def __post_init__(self) -> None:
        if not self.kind:
            raise InvalidValue(_("Upkeep that was done needs its kind, as sand-change."))
        if self.remaining_share is not None and not 0 <= self.remaining_share <= 1:
            raise InvalidValue(
                _(
                    "The upkeep '{kind}' leaves a share of {remaining_share}, which is not "
                    "possible: give 0 to 1, as 0.5 for half."
                ).format(kind=self.kind, remaining_share=self.remaining_share)
            )


def read_value(kind: ReadingKind, value: float, *, unit: str = "", method: str = "") -> Reading:
    """A reading in the unit of its kind, flagged where it is odd.

    Parameters
    ----------
    kind
        What was read.
    value
        The figure as it was read.
    unit
        Unit it was read in, as psi or °F; the unit of the kind when empty. Upper case and the
        degree sign do not matter.
    method
        How it was read.

    Raises
    ------
    InvalidValue
        When the unit is not one of the kind, or the value is not possible.
    """
    limits = LIMITS[kind]
    known = _TO_KEPT[limits.unit]
    given = (unit or limits.unit).strip().casefold().removeprefix("°")
    if given not in known:
        raise InvalidValue(
            _("{title} cannot be given in '{unit}': use {units}.").format(
                title=_(limits.title), unit=unit, units=_units_in_words(limits.unit)
            )
        )
    reading = Reading(kind, round(known[given](value), 4), method)
    low, high = limits.usual
    if low <= reading.value <= high:
        return reading
    odd = _("{value} is outside the usual {low} to {high}.").format(
        value=_shown(reading.value, limits.unit),
        low=_least(low, limits.unit),
        high=_shown(high, limits.unit),
    )
    return Reading(kind, reading.value, method, f"{odd} {_slip(kind, reading.value)}".rstrip())


def units_of(kind: ReadingKind) -> tuple[str, ...]:
    """Units that a reading of `kind` may be given in, the kept one first; lower case."""
    return tuple(_TO_KEPT[LIMITS[kind].unit])


def reading_words(reading: Reading, *, customary: bool) -> str:
    """A reading as people of the country read it, as '84 °F', '29 psi' or '3,100 ppm'."""
    value, unit = reading.value, LIMITS[reading.kind].unit
    if customary and unit == "°C":
        return f"{fahrenheit(value):.0f} °F"
    if customary and unit == "kPa":
        return _("{psi:.0f} psi").format(psi=psi(value))
    if customary and unit == "L/min":
        return _("{value:.0f} gpm").format(value=value / GALLON_L)
    if unit == "share":
        return f"{value * 100:.0f} %"
    figure = f"{value:,.1f}" if value < 20 else f"{value:,.0f}"
    return written(f"{figure} {unit}".strip())


def _units_in_words(unit: str) -> str:
    others = [name for name in _TO_KEPT[unit] if name != unit.casefold().removeprefix("°")]
    return either([unit or _("no unit"), *others])


def _least(value: float, unit: str) -> str:
    """The lower end of a span: its unit stands behind the upper one where it is never another."""
    return _shown(value, unit) if unit in MEASURED else written(f"{value:g}")


def _shown(value: float, unit: str) -> str:
    """The value with its unit, one decimal at most; to be `measured`."""
    if unit in MEASURED:
        return kept_amount(value, unit)
    figure = f"{value:,.1f}".removesuffix(".0")
    return written(f"{figure} {unit}" if unit else figure)


def _slip(kind: ReadingKind, value: float) -> str:
    """The likely slip of unit behind a value out of limits, as a sentence; else empty."""
    low, high = LIMITS[kind].usual
    if kind is ReadingKind.WATER_TEMPERATURE and low <= celsius(value) <= high:
        return _("If it was read in °F, say so: {value:g} °F is {celsius:.1f} °C.").format(
            value=value, celsius=celsius(value)
        )
    if kind is ReadingKind.WATER_TEMPERATURE and low <= fahrenheit(value) <= high:
        return _("If {fahrenheit:.1f} was read in °C, do not give it as °F.").format(
            fahrenheit=fahrenheit(value)
        )
    if kind is ReadingKind.FILTER_PRESSURE and low <= kpa(value) <= high:
        return _("If it was read in psi, say so: {value:g} psi is {kpa:.0f} kPa.").format(
            value=value, kpa=kpa(value)
        )
    if kind is ReadingKind.FILTER_PRESSURE and low <= psi(value) <= high:
        return _("If {psi:.0f} was read in kPa, do not give it as psi.").format(psi=psi(value))
    if kind is ReadingKind.ANODE_REMAINING and 1 < value <= 100:
        return _("If it was judged in percent, say so: {value:g} % is {value2:g}.").format(
            value=value, value2=value / 100
        )
    return ""
