"""Geometry of the plots of a site's history, drawn by the server as SVG.

A plot has one value axis and a time axis. What it shows by line and place it also says in words:
a summary for those who cannot see it, and a table beside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from dispatch.clock import SHORT_MONTHS
from dispatch.words import _

WIDTH, HEIGHT = 640, 200  # of the drawing, in its own units
LEFT, RIGHT, TOP, BOTTOM = 46, 14, 12, 26  # margins of the field
MOST_TICKS = 6


@dataclass(frozen=True, slots=True)
class Value:
    """One value on its day; `odd` marks one that was flagged."""

    day: date
    value: float
    odd: bool = False


@dataclass(frozen=True, slots=True)
class Level:
    """A level drawn across the plot, as the clean pressure; `kind` chooses its stroke."""

    words: str
    value: float
    kind: str


@dataclass(frozen=True, slots=True)
class Dot:
    """A value in the drawing, with what it says when pointed at."""

    x: float
    y: float
    words: str
    odd: bool


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on an axis with its label."""

    at: float
    label: str


@dataclass(frozen=True, slots=True)
class Line:
    """A level in the drawing."""

    y: float
    words: str
    kind: str


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot ready to be written as SVG; coordinates are in units of the drawing."""

    title: str
    unit: str
    path: str
    dots: tuple[Dot, ...]
    lines: tuple[Line, ...]
    band: tuple[float, float] | None
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    summary: str
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Scale:
    """Values and days to units of the drawing."""

    first: date
    last: date
    low: float
    high: float

    def x(self, day: date) -> float:
        """Place of a day from the left."""
        days = max(1, (self.last - self.first).days)
        share = (day - self.first).days / days
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y(self, value: float) -> float:
        """Place of a value from the top."""
        share = (value - self.low) / ((self.high - self.low) or 1)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)


def plot_of(
    title: str,
    unit: str,
    values: Sequence[Value],
    *,
    levels: Sequence[Level] = (),
    ideal: tuple[float, float] | None = None,
    decimals: int = 1,
) -> Plot | None:
    """The plot of some values in the order of time; None without any.

    Parameters
    ----------
    levels
        Levels across the plot.
    ideal
        A band that is shaded.
    decimals
        Of the figures that are told.
    """
    if not values:
        return None
    shown = [one.value for one in values] + [one.value for one in levels] + list(ideal or ())
    low, high, step = rounded_axis(min(shown), max(shown))
    scale = Scale(values[0].day, values[-1].day, low, high)
    dots = tuple(
        Dot(
            scale.x(one.day),
            scale.y(one.value),
            f"{one.day}: {one.value:,.{decimals}f} {unit}{', odd' if one.odd else ''}".strip(),
            one.odd,
        )
        for one in values
    )
    steps = round((high - low) / step)
    return Plot(
        title=title,
        unit=unit,
        path=" ".join(f"{'L' if n else 'M'}{dot.x} {dot.y}" for n, dot in enumerate(dots)),
        dots=dots,
        lines=tuple(Line(scale.y(one.value), one.words, one.kind) for one in levels),
        band=None if ideal is None else (scale.y(ideal[1]), scale.y(ideal[0])),
        across=_month_ticks(scale),
        up=tuple(
            Tick(scale.y(low + n * step), f"{low + n * step:,.10g}") for n in range(steps + 1)
        ),
        summary=_summary(title, unit, values, decimals),
        values=tuple(values),
    )


@dataclass(frozen=True, slots=True)
class Mark:
    """Upkeep on the time line: done, or due next."""

    x: float
    row: int
    words: str
    due: bool


@dataclass(frozen=True, slots=True)
class TimeLine:
    """Upkeep by kind, one row each, over the same months."""

    rows: tuple[str, ...]
    marks: tuple[Mark, ...]
    across: tuple[Tick, ...]
    today_x: float


def time_line(
    done: Sequence[tuple[str, date]], due: Sequence[tuple[str, date]], today: date
) -> TimeLine | None:
    """Upkeep done (title and day) and due next, from the first to half a year on; None if none."""
    coming = [one for one in due if one[1] <= today + timedelta(days=183)]
    if not done and not coming:
        return None
    days = [day for _, day in (*done, *coming)] + [today]
    scale = Scale(min(days), max(days), 0, 1)
    rows = tuple(dict.fromkeys(title for title, _ in (*done, *coming)))
    marks = tuple(
        Mark(scale.x(day), rows.index(title), f"{title}, {word} {day}", due=word == "due")
        for word, entries in (("done", done), ("due", coming))
        for title, day in entries
    )
    return TimeLine(rows, marks, _month_ticks(scale), scale.x(today))


def _month_ticks(scale: Scale) -> tuple[Tick, ...]:
    """First days of months, thinned out so that their labels do not touch."""
    months = [
        date(year, month, 1)
        for year in range(scale.first.year, scale.last.year + 1)
        for month in range(1, 13)
        if scale.first <= date(year, month, 1) <= scale.last
    ]
    every = max(1, math.ceil(len(months) / MOST_TICKS))
    return tuple(
        Tick(
            scale.x(day),
            _(SHORT_MONTHS[day.month - 1]) + (f" {day.year}" if day.month == 1 else ""),
        )
        for day in months[::every]
    )


def rounded_axis(low: float, high: float, least: float = 0.0) -> tuple[float, float, float]:
    """Ends of an axis at whole steps of 1, 2 or 5 times a power of ten, about four of them.

    No step is shorter than `least`: of weeks, for one, there are no halves.
    """
    size = max(abs(high), abs(low), 1.0)
    spread = high - low
    if spread < size * 1e-6:  # as good as one value: an axis around it
        spread = size
    rough = spread / 4
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough)
    step = max(step, least)
    bottom = math.floor(low / step) * step
    top = math.ceil(high / step) * step
    if bottom == top:
        top += step
    return round(bottom, 10), round(top, 10), step


def _summary(title: str, unit: str, values: Sequence[Value], decimals: int) -> str:
    figures = [one.value for one in values]
    low, high, last = (f"{one:,.{decimals}f}" for one in (min(figures), max(figures), figures[-1]))
    return (
        _(
            "{title}: {number} readings from {day} to {last_day}, between {low} and {high} {unit}, "
            "last {last}."
        )
        .format(
            title=title,
            number=len(values),
            day=values[0].day,
            last_day=values[-1].day,
            low=low,
            high=high,
            unit=unit,
            last=last,
        )
        .replace(" ,", ",")
    )
