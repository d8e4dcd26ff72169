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
from dispatch.units import BAR_KPA, GALLON_L, celsius, fahrenheit, kpa, psi

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
        "Free chlorine",
        "ppm",
        (0, 100),
        (0, 10),  # ppm; 10 is the upper limit of the CDC's public-pool code, from memory
        "usual: CDC Model Aquatic Health Code, from memory; possible: common practice",
    ),
    ReadingKind.TOTAL_CHLORINE: Limits(
        "Total chlorine", "ppm", (0, 100), (0, 12), "common practice, as for free chlorine"
    ),
    ReadingKind.PH: Limits(
        "pH",
        "",
        (3, 11),  # a pool neglected on acid tablets falls below 5; common practice
        (6.8, 8.2),  # the span of a phenol red test; common practice
        "common practice",
    ),
    ReadingKind.TOTAL_ALKALINITY: Limits(
        "Total alkalinity", "ppm", (0, 1000), (40, 240), "common practice"
    ),
    ReadingKind.CALCIUM_HARDNESS: Limits(
        "Calcium hardness",
        "ppm",
        (0, 3000),
        (50, 1000),  # ppm; 1000 is the upper end of ANSI/APSP/ICC-11 2019, p. 34
        "usual: ANSI/APSP/ICC-11 2019, p. 34; the rest common practice",
    ),
    ReadingKind.CYANURIC_ACID: Limits(
        "Cyanuric acid",
        "ppm",
        (0, 600),
        (0, 150),  # ppm; upper end of an older trade-institute table in a pool manual
        "usual: older trade-institute table; possible: common practice",
    ),
    ReadingKind.SALT: Limits(
        "Salt",
        "ppm",
        (0, 45_000),  # ppm; sea water has about 35,000
        (0, 6000),  # ppm; generators are run at 2,700 to 3,500
        "common practice; generator figures from pages of the trade",
    ),
    ReadingKind.TDS: Limits(
        "Dissolved solids", "ppm", (0, 60_000), (50, 8000), "common practice, above that of salt"
    ),
    ReadingKind.BORATE: Limits("Borate", "ppm", (0, 300), (0, 80), "common practice"),
    ReadingKind.WATER_TEMPERATURE: Limits(
        "Water temperature",
        "°C",
        (-2, 50),
        (2, 40),  # °C; 40 is the upper limit for spas (104 °F), from memory
        "usual: spa limit of ANSI/APSP/ICC-11, from memory; possible: common practice",
    ),
    ReadingKind.FILTER_PRESSURE: Limits(
        "Filter pressure",
        "kPa",
        (0, 450),  # kPa; 65 psi, above the 50 psi for which filter tanks are usually made
        (30, 280),  # kPa; 4 to 40 psi
        "common practice",
    ),
    ReadingKind.PUMP_SPEED: Limits(
        "Pump speed",
        "rpm",
        (0, 3600),  # rpm; a two-pole motor at 60 Hz cannot turn faster
        (600, 3500),
        "possible: synchronous speed at 60 Hz; usual: common practice",
    ),
    ReadingKind.CELL_CURRENT: Limits("Cell current", "A", (0, 50), (0.5, 12), "common practice"),
    ReadingKind.CELL_VOLTAGE: Limits("Cell voltage", "V", (0, 60), (6, 40), "common practice"),
    ReadingKind.FLOW: Limits("Flow", "L/min", (0, 3000), (40, 700), "common practice"),
    ReadingKind.ANODE_REMAINING: Limits(
        "Anode remaining", "share", (0, 1), (0, 1), "a share cannot leave 0 to 1"
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
            raise InvalidValue(
                f"{limits.title} of {_shown(self.value, limits.unit)} is not possible: give "
                f"{low:g} to {_shown(high, limits.unit)}{_slip(self.kind, self.value)}."
            )
        if len(self.method) > LONGEST_METHOD:
            raise InvalidValue(
                f"The method '{self.method[:40]}…' of a reading has {len(self.method)} "
                f"characters: {LONGEST_METHOD} at most."
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
                f"The time {self.at} of a reading at {self.site_id} has no time zone: give it in "
                "UTC, as 2026-11-30T16:05:00Z."
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
            raise InvalidValue("Upkeep that was done needs its kind, as sand-change.")
        if self.remaining_share is not None and not 0 <= self.remaining_share <= 1:
            raise InvalidValue(
                f"The upkeep '{self.kind}' leaves a share of {self.remaining_share}, which is not "
                "possible: give 0 to 1, as 0.5 for half."
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
            f"{limits.title} cannot be given in '{unit}': use {limits.unit or 'no unit'}"
            f"{_others(limits.unit)}."
        )
    reading = Reading(kind, round(known[given](value), 4), method)
    low, high = limits.usual
    if low <= reading.value <= high:
        return reading
    odd = (
        f"{_shown(reading.value, limits.unit)} is outside the usual {low:g} to "
        f"{_shown(high, limits.unit)}{_slip(kind, reading.value)}."
    )
    return Reading(kind, reading.value, method, odd)


def units_of(kind: ReadingKind) -> tuple[str, ...]:
    """Units that a reading of `kind` may be given in, the kept one first; lower case."""
    return tuple(_TO_KEPT[LIMITS[kind].unit])


def reading_words(reading: Reading, *, customary: bool) -> str:
    """A reading as people of the country read it, as '84 °F', '29 psi' or '3,100 ppm'."""
    value, unit = reading.value, LIMITS[reading.kind].unit
    if customary and unit == "°C":
        return f"{fahrenheit(value):.0f} °F"
    if customary and unit == "kPa":
        return f"{psi(value):.0f} psi"
    if customary and unit == "L/min":
        return f"{value / GALLON_L:.0f} gpm"
    if unit == "share":
        return f"{value * 100:.0f} %"
    figure = f"{value:,.1f}" if value < 20 else f"{value:,.0f}"
    return f"{figure} {unit}".strip()


def _others(unit: str) -> str:
    others = [name for name in _TO_KEPT[unit] if name != unit.casefold().removeprefix("°")]
    return f" or {' or '.join(others)}" if others else ""


def _shown(value: float, unit: str) -> str:
    """The value with its unit, one decimal at most."""
    figure = f"{value:,.1f}".removesuffix(".0")
    return f"{figure} {unit}" if unit else figure


def _slip(kind: ReadingKind, value: float) -> str:
    """The likely slip of unit behind a value out of limits, as a clause; empty if there is none."""
    low, high = LIMITS[kind].usual
    if kind is ReadingKind.WATER_TEMPERATURE and low <= celsius(value) <= high:
        return f"; if it was read in °F, say so: {value:g} °F is {celsius(value):.1f} °C"
    if kind is ReadingKind.WATER_TEMPERATURE and low <= fahrenheit(value) <= high:
        return f"; if {fahrenheit(value):.1f} was read in °C, do not give it as °F"
    if kind is ReadingKind.FILTER_PRESSURE and low <= kpa(value) <= high:
        return f"; if it was read in psi, say so: {value:g} psi is {kpa(value):.0f} kPa"
    if kind is ReadingKind.FILTER_PRESSURE and low <= psi(value) <= high:
        return f"; if {psi(value):.0f} was read in kPa, do not give it as psi"
    if kind is ReadingKind.ANODE_REMAINING and 1 < value <= 100:
        return f"; if it was judged in percent, say so: {value:g} % is {value / 100:g}"
    return ""
