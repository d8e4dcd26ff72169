"""Why upkeep is due, as data and in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dispatch.units import fahrenheit, psi
from dispatch.upkeep_kinds import Trigger

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class DueBy(StrEnum):
    """Which clock brought the upkeep about."""

    CALENDAR = "calendar"
    RUN_HOURS = "run-hours"
    CONDITION = "condition"
    DATE_ON_IT = "date-on-it"  # the date that stands on a drain cover


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of a reason, with its unit: kPa, °C, ppm, A, share, h, months or empty."""

    name: str
    value: float
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Cause:
    """Why upkeep is due.

    `on` is the day of the fact behind it: when the upkeep was last done, when a value was read,
    or the date on a cover. `found` is what was seen where there is no number.
    """

    by: DueBy
    on: date
    trigger: Trigger | None = None
    figures: tuple[Figure, ...] = ()
    found: str = ""

    def words(self, *, customary: bool = False) -> str:
        """The reason in a clause, as 'pressure 29 psi, clean baseline 18 psi, threshold +10 psi'.

        Parameters
        ----------
        customary
            Whether people read psi and °F; else kPa and °C.
        """
        return _WORDS[self.trigger or self.by](self, customary)

    def value(self, name: str) -> float:
        """The figure of this name; raises KeyError where the cause has none."""
        return {figure.name: figure.value for figure in self.figures}[name]


def day_words(day: date) -> str:
    """A day as '30 Nov 2026'."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _pressure(kpa_: float, customary: bool) -> str:
    return f"{psi(kpa_):.0f} psi" if customary else f"{kpa_:.0f} kPa"


def _calendar(cause: Cause, customary: bool) -> str:  # noqa: ARG001 - all have the same shape
    months = cause.value("interval")
    span = f"{months / 12:g} years" if months >= 24 and months % 12 == 0 else f"{months:g} months"
    return f"last done {day_words(cause.on)}, due after {span}"


def _run_hours(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    rated = cause.value("rated")
    return f"in use since {day_words(cause.on)}, {rated:,.0f} run-hours are its life"


def _date_on_it(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    return f"the date on the drain covers is {day_words(cause.on)}"


def _over_clean(cause: Cause, customary: bool) -> str:
    read, clean = cause.value("pressure"), cause.value("clean baseline")
    rise = _pressure(cause.value("threshold"), customary)
    return (
        f"pressure {_pressure(read, customary)}, clean baseline {_pressure(clean, customary)}, "
        f"threshold +{rise}"
    )


def _tired(cause: Cause, customary: bool) -> str:
    if cause.found == "often":
        count, usual = cause.value("cleanings"), cause.value("threshold")
        return f"cleaned {count:.0f} times in 30 days, {usual:.0f} at most are usual"
    read, clean = cause.value("pressure"), cause.value("clean baseline")
    return (
        f"pressure {_pressure(read, customary)} in the days after cleaning, clean baseline "
        f"{_pressure(clean, customary)} not regained"
    )


def _anode(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    left, least = cause.value("left"), cause.value("threshold")
    return f"{left:.0%} of the anode left on {day_words(cause.on)}, swapped at {least:.0%}"


def _cell_low(cause: Cause, customary: bool) -> str:
    water = cause.value("water")
    warmth = f"{fahrenheit(water):.0f} °F" if customary else f"{water:.0f} °C"
    return (
        f"cell current {cause.value('current'):.1f} A, usual {cause.value('usual'):.1f} A, with "
        f"salt {cause.value('salt'):,.0f} ppm and water at {warmth}"
    )


def _scale(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    return f"scale seen on {day_words(cause.on)}"


def _spent(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    output, least = cause.value("output"), cause.value("threshold")
    return f"output {output:.0%} of its rating when clean, replaced below {least:.0%}"


def _cover(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    return f"drain cover {cause.found}: close the pool"


_WORDS: Mapping[DueBy | Trigger, Callable[[Cause, bool], str]] = {
    DueBy.CALENDAR: _calendar,
    DueBy.RUN_HOURS: _run_hours,
    DueBy.DATE_ON_IT: _date_on_it,
    Trigger.PRESSURE: _over_clean,
    Trigger.TIRED_MEDIA: _tired,
    Trigger.ANODE_LEFT: _anode,
    Trigger.CELL_LOW: _cell_low,
    Trigger.SCALE: _scale,
    Trigger.CELL_SPENT: _spent,
    Trigger.COVER: _cover,
}
