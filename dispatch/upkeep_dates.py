"""The clocks of upkeep: the calendar, the run-hours and the date on a drain cover.

What is settled here
    Intervals run from the day the same upkeep was last done, never from the day it was due: an
    early swap begins the next span early, a late one late. Nothing is made up for: after a year
    without visits one cell inspection is due, not four.
    Months keep the day of the month and are cut to the month's end (see `Interval`).
    Run-hours are counted by quarter of the year. A seasonal shutdown is a quarter of 0 hours and
    takes nothing from the life; the calendar runs on through it, because rubber and zinc age
    while nothing runs. Where nobody knows the hours a day, the calendar stands alone.
    Of calendar and run-hours the earlier one counts, separately for earliest, due and latest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from dispatch.equipment import (
    Anode,
    DrainCovers,
    Equipment,
    Filter,
    Heater,
    Media,
    Pump,
    SaltCell,
    SeasonHours,
)
from dispatch.upkeep_causes import Cause, DueBy, Figure
from dispatch.upkeep_kinds import CountsFrom, UpkeepRule

MEDIA_OF = {
    CountsFrom.SAND: Media.SAND,
    CountsFrom.SAND_BED: Media.SAND,
    CountsFrom.CARTRIDGE: Media.CARTRIDGE,
    CountsFrom.PLEATS: Media.CARTRIDGE,
    CountsFrom.DE: Media.DE,
    CountsFrom.DE_CAKE: Media.DE,
}
HOURS_EARLY, HOURS_LATE = 0.9, 1.1  # of the rated life; common practice
COVER_EARLY_DAYS, COVER_DUE_DAYS = 90, 30  # days before the date on a cover; common practice
LONGEST_LIFE_YEARS = 60  # years; a life beyond that is never reached


@dataclass(frozen=True, slots=True)
class Window:
    """From when upkeep may, until when it should and by when it must be done, and why."""

    earliest_on: date
    due_on: date
    latest_on: date
    cause: Cause


def applies(rule: UpkeepRule, equipment: Equipment) -> bool:
    """Whether the site has the equipment of the rule at all."""
    counts_from = rule.counts_from
    if counts_from in MEDIA_OF:
        return equipment.filter is not None and equipment.filter.media is MEDIA_OF[counts_from]
    owners = {
        CountsFrom.ANODE: equipment.anode,
        CountsFrom.ANODE_FILM: equipment.anode,
        CountsFrom.PUMP_ORING: equipment.pump,
        CountsFrom.PUMP_SEAL: equipment.pump,
        CountsFrom.HEATER: equipment.heater,
        CountsFrom.COVER_LOOK: equipment.covers,
        CountsFrom.COVER_DATE: equipment.covers,
    }
    return owners.get(counts_from, equipment.salt_cell) is not None


def last_done_on(counts_from: CountsFrom, equipment: Equipment) -> date | None:
    """The day from which the interval runs; None without such equipment or without a date."""
    media = equipment.filter or Filter(Media.SAND)
    anode = equipment.anode or Anode()
    cell = equipment.salt_cell or SaltCell()
    pump, heater = equipment.pump or Pump(), equipment.heater or Heater()
    covers = equipment.covers or DrainCovers()
    dates: dict[CountsFrom, tuple[date | None, ...]] = {
        CountsFrom.ANODE: (anode.installed_on,),
        CountsFrom.ANODE_FILM: (anode.installed_on, anode.cleaned_on),
        CountsFrom.CELL: (cell.installed_on,),
        CountsFrom.CELL_LOOK: (cell.installed_on, cell.inspected_on, cell.cleaned_on),
        CountsFrom.CELL_SCALE: (cell.installed_on, cell.cleaned_on),
        CountsFrom.PUMP_ORING: (pump.oring_changed_on, pump.seal_changed_on),
        CountsFrom.PUMP_SEAL: (pump.seal_changed_on,),
        CountsFrom.HEATER: (heater.serviced_on,),
        CountsFrom.COVER_LOOK: (covers.checked_on,),
        CountsFrom.COVER_DATE: (covers.expires_on,),
    }
    if counts_from in (CountsFrom.SAND, CountsFrom.CARTRIDGE, CountsFrom.DE):
        return media.media_changed_on
    cleaned = (media.media_changed_on, media.cleaned_on)
    found = dates.get(counts_from, cleaned)
    return max((day for day in found if day is not None), default=None)


def window_of(rule: UpkeepRule, equipment: Equipment) -> Window | None:
    """The window by calendar, run-hours and printed date; None where nothing can be counted."""
    if not applies(rule, equipment):
        return None
    found = (
        _by_calendar(rule, equipment),
        _by_hours(rule, equipment),
        _by_cover(rule, equipment),
    )
    return earliest_of([window for window in found if window is not None])


def earliest_of(windows: Sequence[Window]) -> Window | None:
    """The earliest of each of the three dates, with the cause of the earliest due date."""
    if not windows:
        return None
    first = min(windows, key=lambda window: window.due_on)
    return Window(
        earliest_on=min(window.earliest_on for window in windows),
        due_on=first.due_on,
        latest_on=min(window.latest_on for window in windows),
        cause=first.cause,
    )


def day_of_hours(installed_on: date, hours_per_day: SeasonHours, hours: float) -> date | None:
    """The day on which so many run-hours are reached; None when they never are.

    Parameters
    ----------
    installed_on
        Day from which hours are counted.
    hours_per_day
        Hours a day by quarter of the year.
    hours
        Run-hours to reach.
    """
    day, left = installed_on, hours
    for _ in range(4 * LONGEST_LIFE_YEARS):
        end = _end_of_quarter(day)
        a_day = hours_per_day.on(day)
        in_quarter = a_day * (end - day).days
        if a_day and in_quarter >= left:
            return day + timedelta(days=int(left // a_day))
        left -= in_quarter
        day = end
    return None


def hours_until(installed_on: date, hours_per_day: SeasonHours, day: date) -> float:
    """Run-hours from `installed_on` to `day`; 0 when `day` comes first."""
    at, hours = installed_on, 0.0
    while at < day:
        end = min(_end_of_quarter(at), day)
        hours += hours_per_day.on(at) * (end - at).days
        at = end
    return hours


def _end_of_quarter(day: date) -> date:
    """First day of the next quarter: 1 March, June, September or December."""
    for month in (3, 6, 9, 12):
        if day.month < month:
            return date(day.year, month, 1)
    return date(day.year + 1, 3, 1)


def _by_calendar(rule: UpkeepRule, equipment: Equipment) -> Window | None:
    done_on = last_done_on(rule.counts_from, equipment)
    if done_on is None or rule.earliest is None or rule.due is None or rule.latest is None:
        return None
    months = rule.due.months + round(rule.due.days / 30.44, 1)  # days, 365.25 / 12
    return Window(
        rule.earliest.after(done_on),
        rule.due.after(done_on),
        rule.latest.after(done_on),
        Cause(DueBy.CALENDAR, done_on, figures=(Figure("interval", months, "months"),)),
    )


def _by_hours(rule: UpkeepRule, equipment: Equipment) -> Window | None:
    cell = equipment.salt_cell
    if cell is None or rule.run_hours is None or rule.counts_from is not CountsFrom.CELL:
        return None
    if cell.installed_on is None or cell.hours_per_day is None:
        return None
    rated = cell.rated_hours or rule.run_hours
    days = [
        day_of_hours(cell.installed_on, cell.hours_per_day, share * rated)
        for share in (HOURS_EARLY, 1.0, HOURS_LATE)
    ]
    known = [day for day in days if day is not None]
    if len(known) < len(days):
        return None
    cause = Cause(DueBy.RUN_HOURS, cell.installed_on, figures=(Figure("rated", rated, "h"),))
    return Window(known[0], known[1], known[2], cause)


def _by_cover(rule: UpkeepRule, equipment: Equipment) -> Window | None:
    covers = equipment.covers
    if rule.counts_from is not CountsFrom.COVER_DATE or covers is None:
        return None
    if covers.expires_on is None:
        return None
    return Window(
        covers.expires_on - timedelta(days=COVER_EARLY_DAYS),
        covers.expires_on - timedelta(days=COVER_DUE_DAYS),
        covers.expires_on,
        Cause(DueBy.DATE_ON_IT, covers.expires_on),
    )
