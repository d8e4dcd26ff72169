"""The plots of a site: filter pressure, salt, pH, chlorine, temperature; upkeep on a time line."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta, tzinfo

from api.pages.plots import Level, Plot, TimeLine, Value, plot_of, time_line
from api.pages.units import Units
from dispatch.actions.site_view import SiteView
from dispatch.readings import LIMITS, ReadingKind
from dispatch.words import _

SHOWN_DAYS = 366  # days of history that are drawn; the table has all of it
PLOTTED = (
    ReadingKind.FREE_CHLORINE,
    ReadingKind.PH,
    ReadingKind.SALT,
    ReadingKind.TOTAL_ALKALINITY,
    ReadingKind.CYANURIC_ACID,
    ReadingKind.WATER_TEMPERATURE,
)
WHOLE = frozenset({"ppm", "psi", "kPa", "°F"})


def site_plots(view: SiteView, units: Units, today: date, zone: tzinfo) -> list[Plot]:
    """Plots of everything that was read there within the last year, the filter's pressure first."""
    found = [_pressure(view, units, today, zone)]
    targets = {**view.targets, **{one.kind: one.target for one in view.water.findings}}
    for kind in PLOTTED:
        target = targets.get(kind)
        ideal = None
        if target and target.ideal_low is not None and target.ideal_high is not None:
            ideal = (target.ideal_low, target.ideal_high)
        unit, shown = units.of_reading(LIMITS[kind].unit)
        values = _values(view, kind, today, zone, shown)
        decimals = 0 if unit in WHOLE and kind is not ReadingKind.FREE_CHLORINE else 1
        found.append(plot_of(_(LIMITS[kind].title), unit, values, ideal=ideal, decimals=decimals))
    return [one for one in found if one is not None]


def upkeep_line(view: SiteView, today: date) -> TimeLine | None:
    """Upkeep done within the last two years and due in the next half year, by title."""
    since = today - timedelta(days=2 * SHOWN_DAYS)
    done = [(view.titles.get(one.kind, one.kind), one.on) for one in view.done if one.on >= since]
    return time_line(done, [(_(one.title), one.due_on) for one in view.upkeep], today)


def _pressure(view: SiteView, units: Units, today: date, zone: tzinfo) -> Plot | None:
    kind = ReadingKind.FILTER_PRESSURE
    unit, shown = units.of_reading(LIMITS[kind].unit)
    levels = []
    if view.clean_kpa is not None and view.threshold_kpa is not None:
        clean, most = shown(view.clean_kpa), shown(view.threshold_kpa)
        levels = [
            Level(_("clean {clean:.0f}").format(clean=clean), clean, "clean"),
            Level(_("clean it at {most:.0f}").format(most=most), most, "threshold"),
        ]
    values = _values(view, kind, today, zone, shown)
    return plot_of(_("Filter pressure"), unit, values, levels=levels, decimals=0)


def _values(
    view: SiteView,
    kind: ReadingKind,
    today: date,
    zone: tzinfo,
    shown: Callable[[float], float],
) -> list[Value]:
    since = today - timedelta(days=SHOWN_DAYS)
    found = [
        Value(point.at.astimezone(zone).date(), shown(point.reading.value), bool(point.reading.odd))
        for point in view.history
        if point.reading.kind is kind
    ]
    return [one for one in found if one.day >= since]
