"""Conditions that bring upkeep about, whatever the calendar says.

What is settled here
    Pressure is compared with the clean baseline only at the same pump speed: a reading without
    the speed says nothing at a pump whose speed varies, nor does one at another speed.
    What is over the threshold counts from the first reading that passed it since the filter was
    last cleaned; a later reading below it takes it back.
    A filter is tired when it was cleaned too often in 30 days, or when the first pressure in the
    week after a cleaning still lies half the threshold over the clean baseline.
    A cell is low against its own usual current, and only where salt, temperature and flow were
    good: below 60 °F a cell cuts itself out, so cold water never sends anybody to look at it.
    Where salt or temperature were not read lately, nothing is concluded.
    A loose, cracked or missing drain cover closes the pool and is urgent from the day it is seen.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from statistics import median
from typing import NamedTuple

from dispatch.equipment import CoverState, Equipment, Filter
from dispatch.filter_rules import PRESSURE_RISE_KPA
from dispatch.readings import ReadingKind, UpkeepDone
from dispatch.upkeep_causes import Cause, DueBy, Figure
from dispatch.upkeep_dates import Window, applies
from dispatch.upkeep_kinds import Trigger, UpkeepRule
from dispatch.words import _

SAME_SPEED = 0.05  # share by which two pump speeds may differ; common practice
OFTEN_DAYS = 30  # days over which cleanings are counted; "a month" (a)
REGAINED_DAYS = 8  # days after a cleaning in which the next visit shows the pressure
REGAINED_SHARE = 0.5  # of the threshold; common practice
LEAST_SALT_PPM = 2700.0  # ppm; lower end of 2,700-3,400 on a page of the trade (a-low)
COLD_C = 15.6  # °C; 60 °F, below 50-60 °F salt cells cut out (a)
LATELY_DAYS = 35  # days for which a reading of salt stands; salt is tested monthly (c)
USUAL_READINGS = 4  # readings of a cell's current before one of them can be low
LEAST_FLOW_SHARE = 0.7  # of the site's usual flow; common practice

# Days from the reading to the last day on which it may be answered; common practice. A backwash
# belongs to the very visit, so its window ends before the next one of a weekly site.
GRACE_DAYS = {
    Trigger.PRESSURE: 6,
    Trigger.TIRED_MEDIA: 42,
    Trigger.ANODE_LEFT: 42,
    Trigger.CELL_LOW: 10,
    Trigger.SCALE: 21,
    Trigger.CELL_SPENT: 21,
    Trigger.COVER: 1,
}
CLEANING_KINDS = frozenset({"backwash", "cartridge-clean", "de-recharge"})


class Point(NamedTuple):
    """One value of a kind, on its local day."""

    day: date
    at: datetime
    value: float


@dataclass(frozen=True, slots=True)
class History:
    """What was read and done at one site; points by kind, oldest first."""

    points: Mapping[ReadingKind, tuple[Point, ...]] = field(default_factory=dict)
    done: tuple[UpkeepDone, ...] = ()

    def of_kind(self, kind: ReadingKind) -> tuple[Point, ...]:
        """Points of one kind, oldest first."""
        return self.points.get(kind, ())

    def lately(self, kind: ReadingKind, day: date, days: int) -> float | None:
        """The latest value of a kind up to `day`, not older than `days`; None without one."""
        points = self.of_kind(kind)
        n = bisect_right(points, day, key=lambda point: point.day)
        if n == 0 or (day - points[n - 1].day).days > days:
            return None
        return points[n - 1].value


NO_HISTORY = History()


def window_by_condition(rule: UpkeepRule, equipment: Equipment, history: History) -> Window | None:
    """The window that a condition opens on the day it was seen; None where there is none."""
    if rule.trigger is None or not applies(rule, equipment):
        return None
    cause = _FINDERS[rule.trigger](rule, equipment, history)
    if cause is None:
        return None
    latest_on = cause.on + timedelta(days=GRACE_DAYS[rule.trigger])
    return Window(cause.on, cause.on, latest_on, cause)


def is_ruled_out(rule: UpkeepRule, equipment: Equipment) -> bool:
    """Whether a look has shown the upkeep to be needless: no scale was seen, so no acid."""
    cell = equipment.salt_cell
    if rule.trigger is not Trigger.SCALE or cell is None or cell.scaled is not False:
        return False
    handled = [day for day in (cell.installed_on, cell.cleaned_on) if day is not None]
    return cell.inspected_on is not None and all(cell.inspected_on >= day for day in handled)


def comparable_pressures(media: Filter, history: History) -> list[Point]:
    """Pressures read at the speed of the clean baseline, oldest first; kPa."""
    pressures = history.of_kind(ReadingKind.FILTER_PRESSURE)
    if media.clean_rpm is None:
        return list(pressures)
    speeds = {one.at: one.value for one in history.of_kind(ReadingKind.PUMP_SPEED)}
    most = SAME_SPEED * media.clean_rpm
    return [
        one
        for one in pressures
        if one.at in speeds and abs(speeds[one.at] - media.clean_rpm) <= most
    ]


def _over_clean(rule: UpkeepRule, equipment: Equipment, history: History) -> Cause | None:
    media, pump = equipment.filter, equipment.pump
    rise = rule.threshold if media is None or media.rise_kpa is None else media.rise_kpa
    if media is None or media.clean_kpa is None or rise is None:
        return None
    if pump is not None and pump.variable_speed and media.clean_rpm is None:
        return None
    since = max((day for day in (media.clean_on, media.cleaned_on) if day), default=date.min)
    first: Point | None = None
    for one in comparable_pressures(media, history):
        if one.day <= since:
            continue
        over = one.value - media.clean_kpa >= rise
        first = (first or one) if over else None
    if first is None:
        return None
    return Cause(
        DueBy.CONDITION,
        first.day,
        Trigger.PRESSURE,
        (
            Figure("pressure", first.value, "kPa"),
            Figure("clean baseline", media.clean_kpa, "kPa"),
            Figure("threshold", rise, "kPa"),
        ),
    )


def _tired(rule: UpkeepRule, equipment: Equipment, history: History) -> Cause | None:
    media = equipment.filter
    if media is None or rule.threshold is None:
        return None
    changed_on = media.media_changed_on or date.min
    cleanings = sorted(
        {one.on for one in history.done if one.kind in CLEANING_KINDS and one.on > changed_on}
    )
    often = _too_often(_apart(cleanings), rule.threshold)
    return often or _not_regained(media, cleanings, history)


def _apart(cleanings: Sequence[date]) -> list[date]:
    """Cleanings without those of the day after another: a green pool wants one each day."""
    return [day for day in cleanings if day - timedelta(days=1) not in cleanings]


def _too_often(cleanings: Sequence[date], most: float) -> Cause | None:
    """The first cleaning that was one too many in 30 days."""
    for last in cleanings:
        count = sum(1 for day in cleanings if 0 <= (last - day).days < OFTEN_DAYS)
        if count > most:
            figures = (Figure("cleanings", count), Figure("threshold", most))
            return Cause(DueBy.CONDITION, last, Trigger.TIRED_MEDIA, figures, "often")
    return None


def _not_regained(media: Filter, cleanings: Sequence[date], history: History) -> Cause | None:
    """The pressure in the week after the last cleaning, where it is too high for a clean filter."""
    cleaned_on = max([*cleanings, *([media.cleaned_on] if media.cleaned_on else [])], default=None)
    if cleaned_on is None or media.clean_kpa is None:
        return None
    after = [
        one
        for one in comparable_pressures(media, history)
        if 0 < (one.day - cleaned_on).days <= REGAINED_DAYS
    ]
    rise = media.rise_kpa or PRESSURE_RISE_KPA
    if not after or after[0].value - media.clean_kpa < REGAINED_SHARE * rise:
        return None
    figures = (
        Figure("pressure", after[0].value, "kPa"),
        Figure("clean baseline", media.clean_kpa, "kPa"),
    )
    return Cause(DueBy.CONDITION, after[0].day, Trigger.TIRED_MEDIA, figures, _("not regained"))


def _anode_left(rule: UpkeepRule, equipment: Equipment, history: History) -> Cause | None:
    anode = equipment.anode
    if anode is None or rule.threshold is None:
        return None
    installed_on = anode.installed_on or date.min
    looks = history.of_kind(ReadingKind.ANODE_REMAINING)
    judged = [
        (one.day, one.value) for one in looks if one.day > installed_on
    ]  # before: the old one
    if anode.remaining_share is not None and anode.judged_on is not None:
        judged.append((anode.judged_on, anode.remaining_share))
    for day, share in sorted(judged):
        if day >= installed_on and share <= rule.threshold:
            figures = (Figure("left", share, "share"), Figure("threshold", rule.threshold, "share"))
            return Cause(DueBy.CONDITION, day, Trigger.ANODE_LEFT, figures)
    return None


def _cell_low(rule: UpkeepRule, equipment: Equipment, history: History) -> Cause | None:
    cell = equipment.salt_cell
    if cell is None or rule.threshold is None:
        return None
    looked_on = max(
        (day for day in (cell.installed_on, cell.inspected_on, cell.cleaned_on) if day),
        default=date.min,
    )
    good = [one for one in history.of_kind(ReadingKind.CELL_CURRENT) if _is_fair(one.day, history)]
    if len(good) <= USUAL_READINGS:
        return None
    last = good[-1]
    usual = median(one.value for one in good[:-1])
    if last.day <= looked_on or last.value >= rule.threshold * usual:
        return None
    figures = (
        Figure("current", last.value, "A"),
        Figure("usual", usual, "A"),
        Figure("salt", history.lately(ReadingKind.SALT, last.day, LATELY_DAYS) or 0.0, "ppm"),
        Figure("water", history.lately(ReadingKind.WATER_TEMPERATURE, last.day, 0) or 0.0, "°C"),
        Figure("threshold", rule.threshold, "share"),
    )
    return Cause(DueBy.CONDITION, last.day, Trigger.CELL_LOW, figures)


def _is_fair(day: date, history: History) -> bool:
    """Whether salt, temperature and flow let the cell show what it can do."""
    salt = history.lately(ReadingKind.SALT, day, LATELY_DAYS)
    water = history.lately(ReadingKind.WATER_TEMPERATURE, day, 0)
    if salt is None or water is None or salt < LEAST_SALT_PPM or water < COLD_C:
        return False
    flow = history.lately(ReadingKind.FLOW, day, 0)
    if flow is None:
        return True
    usual = median(one.value for one in history.of_kind(ReadingKind.FLOW))
    return flow >= LEAST_FLOW_SHARE * usual


def _scale(rule: UpkeepRule, equipment: Equipment, history: History) -> Cause | None:  # noqa: ARG001
    cell = equipment.salt_cell
    if cell is None or not cell.scaled or cell.inspected_on is None:
        return None
    if cell.cleaned_on is not None and cell.cleaned_on >= cell.inspected_on:
        return None
    return Cause(DueBy.CONDITION, cell.inspected_on, Trigger.SCALE)


def _spent(rule: UpkeepRule, equipment: Equipment, history: History) -> Cause | None:  # noqa: ARG001
    cell = equipment.salt_cell
    if cell is None or rule.threshold is None or cell.output_share is None:
        return None
    if cell.tested_on is None or cell.scaled or cell.output_share >= rule.threshold:
        return None
    if cell.installed_on is not None and cell.tested_on < cell.installed_on:
        return None
    figures = (
        Figure("output", cell.output_share, "share"),
        Figure("threshold", rule.threshold, "share"),
    )
    return Cause(DueBy.CONDITION, cell.tested_on, Trigger.CELL_SPENT, figures)


def _cover(rule: UpkeepRule, equipment: Equipment, history: History) -> Cause | None:  # noqa: ARG001
    covers = equipment.covers
    if covers is None or covers.state in (None, CoverState.SOUND) or covers.checked_on is None:
        return None
    return Cause(DueBy.CONDITION, covers.checked_on, Trigger.COVER, (), str(covers.state))


_FINDERS: Mapping[Trigger, Callable[[UpkeepRule, Equipment, History], Cause | None]] = {
    Trigger.PRESSURE: _over_clean,
    Trigger.TIRED_MEDIA: _tired,
    Trigger.ANODE_LEFT: _anode_left,
    Trigger.CELL_LOW: _cell_low,
    Trigger.SCALE: _scale,
    Trigger.CELL_SPENT: _spent,
    Trigger.COVER: _cover,
}
