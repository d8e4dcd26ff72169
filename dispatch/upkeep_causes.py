"""Why upkeep is due, as data and in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dispatch.units import fahrenheit, psi
from dispatch.upkeep_kinds import Trigger
from dispatch.words import _

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
    return (
        _("{psi:.0f} psi").format(psi=psi(kpa_))
        if customary
        else _("{kpa:.0f} kPa").format(kpa=kpa_)
    )


def _calendar(cause: Cause, customary: bool) -> str:  # noqa: ARG001 - all have the same shape
    months = cause.value("interval")
    span = (
        _("{months:g} years").format(months=months / 12)
        if months >= 24 and months % 12 == 0
        else _("{months:g} months").format(months=months)
    )
    return _("last done {day}, due after {span}").format(day=day_words(cause.on), span=span)


def _run_hours(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    rated = cause.value("rated")
    return _("in use since {day}, {rated:,.0f} run-hours are its life").format(
        day=day_words(cause.on), rated=rated
    )


def _date_on_it(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    return _("the date on the drain covers is {day}").format(day=day_words(cause.on))


def _over_clean(cause: Cause, customary: bool) -> str:
    read, clean = cause.value("pressure"), cause.value("clean baseline")
    rise = _pressure(cause.value("threshold"), customary)
    return _("pressure {read}, clean baseline {clean}, threshold +{rise}").format(
        read=_pressure(read, customary), clean=_pressure(clean, customary), rise=rise
    )


def _tired(cause: Cause, customary: bool) -> str:
    if cause.found == "often":
        count, usual = cause.value("cleanings"), cause.value("threshold")
        return _("cleaned {count:.0f} times in 30 days, {usual:.0f} at most are usual").format(
            count=count, usual=usual
        )
    read, clean = cause.value("pressure"), cause.value("clean baseline")
    return _(
        "pressure {read} in the days after cleaning, clean baseline {clean} not regained"
    ).format(read=_pressure(read, customary), clean=_pressure(clean, customary))


def _anode(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    left, least = cause.value("left"), cause.value("threshold")
    return _("{left:.0%} of the anode left on {day}, swapped at {least:.0%}").format(
        left=left, day=day_words(cause.on), least=least
    )


def _cell_low(cause: Cause, customary: bool) -> str:
    water = cause.value("water")
    warmth = f"{fahrenheit(water):.0f} °F" if customary else f"{water:.0f} °C"
    return _(
        "cell current {current:.1f} A, usual {usual:.1f} A, with salt {salt:,.0f} ppm and "
        "water at {warmth}"
    ).format(
        current=cause.value("current"),
        usual=cause.value("usual"),
        salt=cause.value("salt"),
        warmth=warmth,
    )


def _scale(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    return _("scale seen on {day}").format(day=day_words(cause.on))


def _spent(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    output, least = cause.value("output"), cause.value("threshold")
    return _("output {output:.0%} of its rating when clean, replaced below {least:.0%}").format(
        output=output, least=least
    )


def _cover(cause: Cause, customary: bool) -> str:  # noqa: ARG001
    return _("drain cover {found}: close the pool").format(found=cause.found)


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
