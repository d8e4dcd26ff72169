"""Histories for tests: what was read at an invented pool, in as few words as a test needs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, date, datetime, time

from dispatch.readings import ReadingKind, UpkeepDone
from dispatch.units import kpa
from dispatch.upkeep_conditions import History, Point

Seen = tuple[date, ReadingKind, float]


def history(*seen: Seen, done: Sequence[UpkeepDone] = ()) -> History:
    """Values read at noon, UTC, of their days; a visit's values share their time."""
    points: defaultdict[ReadingKind, list[Point]] = defaultdict(list)
    for day, kind, value in seen:
        points[kind].append(Point(day, datetime.combine(day, time(12), UTC), value))
    return History({kind: tuple(sorted(found)) for kind, found in points.items()}, tuple(done))


def pressure(day: date, psi_: float) -> Seen:
    """A filter pressure given in psi."""
    return (day, ReadingKind.FILTER_PRESSURE, kpa(psi_))


def speed(day: date, rpm: float) -> Seen:
    """A pump speed."""
    return (day, ReadingKind.PUMP_SPEED, rpm)


def cell_visit(day: date, amperes: float, *, salt: float = 3100, water_c: float = 26) -> list[Seen]:
    """A visit at which the salt cell, the salt and the water were read."""
    return [
        (day, ReadingKind.CELL_CURRENT, amperes),
        (day, ReadingKind.SALT, salt),
        (day, ReadingKind.WATER_TEMPERATURE, water_c),
    ]
