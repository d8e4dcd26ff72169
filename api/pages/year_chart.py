"""Geometry of the chart of a year's load, drawn by the server as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dispatch.store.levelling import KeptLoad

HEIGHT = 72.0  # user units of a chart; its width is 100 percent
LABEL_EVERY = 4  # weeks between two labels below the bars


@dataclass(frozen=True, slots=True)
class WeekBar:
    """A week's column: left and width in percent, tops in user units from above.

    From below: visits, driving, upkeep; `room_y` is where the shift without its slack ends.
    """

    load: KeptLoad
    left: float
    width: float
    visit_y: float
    visit_h: float
    drive_y: float
    drive_h: float
    upkeep_y: float
    upkeep_h: float
    room_y: float
    label: str


def year_bars(loads: Sequence[KeptLoad]) -> list[WeekBar]:
    """The columns of one technician's weeks; all share the longest shift as their scale."""
    most = max((_full(one) for one in loads), default=0) or 1
    wide = 100 / max(1, len(loads))
    bars = []
    for n, one in enumerate(loads):
        heights = [
            round(HEIGHT * part / most, 2)
            for part in (one.visit_min, one.drive_min, one.upkeep_min)
        ]
        visit_y = HEIGHT - heights[0]
        drive_y = visit_y - heights[1]
        limit = one.visit_min + one.drive_min + one.room_min
        bars.append(
            WeekBar(
                load=one,
                left=round(n * wide, 3),
                width=round(wide * 0.8, 3),
                visit_y=round(visit_y, 2),
                visit_h=heights[0],
                drive_y=round(drive_y, 2),
                drive_h=heights[1],
                upkeep_y=round(drive_y - heights[2], 2),
                upkeep_h=heights[2],
                room_y=round(HEIGHT * (1 - limit / most), 2),
                label=f"{one.week.week}" if n % LABEL_EVERY == 0 else "",
            )
        )
    return bars


def _full(load: KeptLoad) -> int:
    work = load.visit_min + load.drive_min
    return max(load.shift_min, work + load.upkeep_min, work + load.room_min)
