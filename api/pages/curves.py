"""Geometry of curves of one figure against another, drawn by the server as SVG.

Every line has a stroke and a shape of point of its own, so that none is told by colour alone; a
table with the same figures stands beside each chart.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from api.pages.plots import Tick, rounded_axis

WIDTH, HEIGHT = 640, 260  # of the drawing, in its own units
LEFT, RIGHT, TOP, BOTTOM = 52, 18, 14, 40  # margins of the field


@dataclass(frozen=True, slots=True)
class Point:
    """One point of a line, with what it says when pointed at and beside it."""

    x: float
    y: float
    words: str
    label: str = ""


@dataclass(frozen=True, slots=True)
class Series:
    """A named line; `kind` (first, second, third) chooses stroke and shape."""

    name: str
    kind: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Curves:
    """A chart ready to be written as SVG; coordinates are in units of the drawing."""

    across_title: str
    up_title: str
    series: tuple[tuple[Series, str], ...]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    summary: str


def curves_of(
    across_title: str, up_title: str, series: Sequence[Series], summary: str
) -> Curves | None:
    """The chart of some lines over common axes; None without any point.

    Parameters
    ----------
    across_title, up_title
        What the axes show, with the unit; across are whole things, as weeks or customers.
    series
        Lines in the units of the axes; a line is drawn in the order of its points.
    summary
        What the chart shows, in words, for those who cannot see it.
    """
    points = [one for line in series for one in line.points]
    if not points:
        return None
    x_low, x_high, x_step = rounded_axis(min(p.x for p in points), max(p.x for p in points), 1)
    y_low, y_high, y_step = rounded_axis(min(p.y for p in points), max(p.y for p in points))

    def x(value: float) -> float:
        share = (value - x_low) / (x_high - x_low)
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y(value: float) -> float:
        share = (value - y_low) / (y_high - y_low)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)

    drawn = tuple(
        Series(
            line.name,
            line.kind,
            tuple(Point(x(p.x), y(p.y), p.words, p.label) for p in line.points),
        )
        for line in series
    )
    return Curves(
        across_title=across_title,
        up_title=up_title,
        series=tuple((line, _path(line.points)) for line in drawn),
        across=_ticks(x_low, x_high, x_step, x),
        up=_ticks(y_low, y_high, y_step, y),
        summary=summary,
    )


def _path(points: Sequence[Point]) -> str:
    return " ".join(f"{'L' if n else 'M'}{p.x} {p.y}" for n, p in enumerate(points))


def _ticks(
    low: float, high: float, step: float, place: Callable[[float], float]
) -> tuple[Tick, ...]:
    count = round((high - low) / step)
    values = [low + n * step for n in range(count + 1)]
    return tuple(Tick(place(value), f"{value:,.10g}") for value in values)
