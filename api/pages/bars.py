"""Geometry of the bars of loads, drawn by the server as SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from api.day_loads import DayLoad, WeekLoad
from api.pages.templating import hours

HOUR_S = 3600
LABEL_FROM = 7.0  # percent of the chart's width below which a figure does not fit into a piece


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of a bar, in percent of the chart's width; `label` is empty where it is narrow."""

    kind: str
    seconds: int
    left: float
    width: float
    label: str


@dataclass(frozen=True, slots=True)
class Bar:
    """One day: its pieces from left to right, and where the shift ends (percent)."""

    load: DayLoad
    pieces: tuple[Piece, ...]
    capacity: float


@dataclass(frozen=True, slots=True)
class Scale:
    """The scale all bars share: 0 to `hours` hours over the whole width."""

    hours: int

    @classmethod
    def over(cls, loads: Sequence[WeekLoad]) -> Scale:
        """The least whole hours that every day and every shift fit into."""
        longest = [max(day.work_s + day.break_s, day.shift_s) for one in loads for day in one.days]
        return cls(max(1, math.ceil(max(longest, default=0) / HOUR_S)))

    @property
    def ticks(self) -> list[tuple[int, float]]:
        """Every second hour with its place in percent."""
        return [(hour, self.percent(hour * HOUR_S)) for hour in range(0, self.hours + 1, 2)]

    def percent(self, seconds: float) -> float:
        """Place of so many seconds, in percent of the width."""
        return round(100 * seconds / (self.hours * HOUR_S), 3)

    def bar(self, load: DayLoad) -> Bar:
        """The bar of one day."""
        parts = (
            ("service", load.service_s),
            ("upkeep", load.upkeep_s),
            ("drive", load.drive_s),
            ("break", load.break_s + load.other_s),
        )
        pieces, left = [], 0.0
        for kind, seconds in parts:
            width = self.percent(seconds)
            label = hours(seconds) if width >= LABEL_FROM and kind != "break" else ""
            if seconds:
                pieces.append(Piece(kind, seconds, left, width, label))
            left = round(left + width, 3)
        return Bar(load, tuple(pieces), self.percent(load.shift_s))
