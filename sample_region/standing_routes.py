"""Standing routes: which technician comes on which weekday, by splitting the map into parts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from sample_region.crew import CREW, Technician
from sample_region.plane import Point

T = TypeVar("T")
Slot = tuple[str, int]  # technician id and weekday, 0 is Monday

SECOND_VISITS_MIN = 45  # minutes left free on Thursday and Friday for second visits of the week


def standing_routes(places: Sequence[Point], minutes: Sequence[float]) -> list[Slot]:
    """The technician and weekday of each place.

    Technicians get neighbouring parts of the map, and their weekdays parts of those, such that
    the minutes per week are in proportion to the minutes of the shifts.
    """
    slots: dict[int, Slot] = {}
    by_technician = _split(list(range(len(places))), list(CREW), places, minutes, _week_minutes)
    for technician, group in by_technician:
        days = sorted(technician.shifts)

        def room(day: int, worker: Technician = technician) -> float:
            return worker.minutes_on(day) - (SECOND_VISITS_MIN if day >= 3 else 0)

        for day, numbers in _split(group, days, places, minutes, room):
            slots |= dict.fromkeys(numbers, (technician.id, day))
    return [slots[n] for n in range(len(places))]


def _week_minutes(technician: Technician) -> float:
    return sum(technician.minutes_on(day) for day in technician.shifts)


def _split(
    numbers: list[int],
    owners: list[T],
    places: Sequence[Point],
    minutes: Sequence[float],
    room: Callable[[T], float],
) -> list[tuple[T, list[int]]]:
    """Halve the owners and cut the places across their longer side until each owner has a part."""
    if len(owners) == 1:
        return [(owners[0], numbers)]
    first, second = owners[: len(owners) // 2], owners[len(owners) // 2 :]
    share = sum(map(room, first)) / sum(map(room, owners))
    spans = [max(c) - min(c) for c in zip(*(places[n] for n in numbers), strict=True)]
    axis = spans.index(max(spans))
    ordered = sorted(numbers, key=lambda n: places[n][axis])
    wanted_min = share * sum(minutes[n] for n in numbers)
    cut, so_far_min = 0, 0.0
    while so_far_min + minutes[ordered[cut]] / 2 < wanted_min:
        so_far_min += minutes[ordered[cut]]
        cut += 1
    return [
        *_split(ordered[:cut], first, places, minutes, room),
        *_split(ordered[cut:], second, places, minutes, room),
    ]
