"""Technicians: when they work, from where, with which skills and in what truck."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispatch.clock import DAY_S, format_time
from dispatch.errors import InvalidValue
from dispatch.places import Place


@dataclass(frozen=True, slots=True)
class Shift:
    """Working hours of one day, in seconds after local midnight.

    From leaving the start place to being at the end place; drive, service and break lie inside.
    """

    start_s: int
    end_s: int

    def __post_init__(self) -> None:
        if not 0 <= self.start_s < self.end_s <= DAY_S:
            raise InvalidValue(
                f"The shift {format_time(self.start_s)} to {format_time(self.end_s)} is empty or "
                "leaves the day: give a start before the end, within 00:00 to 24:00."
            )


@dataclass(frozen=True, slots=True)
class Break:
    """An unpaid meal of `minutes`, placed between two stops, never inside a service.

    It must begin between the two times (seconds after local midnight).
    """

    minutes: int
    earliest_s: int
    latest_s: int

    def __post_init__(self) -> None:
        if not (1 <= self.minutes <= 180 and 0 <= self.earliest_s <= self.latest_s <= DAY_S):
            raise InvalidValue(
                f"A break of {self.minutes} min beginning between {format_time(self.earliest_s)} "
                f"and {format_time(self.latest_s)} cannot be placed: give 1 to 180 minutes and a "
                "span in which it may begin."
            )


@dataclass(frozen=True, slots=True)
class Technician:
    """A technician and the truck.

    `shifts` holds seven entries, Monday first, None on a day without work. `start` and `end` are
    where the truck's day begins and ends, per technician. `payload_kg` is what the truck may
    carry besides the driver and its fixed outfit.

    Raises
    ------
    InvalidValue
        Without any shift, or with a payload below zero.
    """

    id: str
    name: str
    shifts: tuple[Shift | None, ...]
    start: Place
    end: Place
    meal: Break | None = None
    skills: frozenset[str] = frozenset()
    payload_kg: float = 400.0
    days_off: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        if not self.id or not self.name:
            raise InvalidValue("A technician needs an id and a name.")
        if len(self.shifts) != 7 or not any(self.shifts):
            raise InvalidValue(
                f"Technician {self.id} has no shift on any weekday: give at least one, as "
                "07:00-15:30."
            )
        if self.payload_kg < 0:
            raise InvalidValue(f"The payload of technician {self.id} is below zero.")

    def shift_on(self, day: date) -> Shift | None:
        """The shift of `day`, None on a day off."""
        return None if day in self.days_off else self.shifts[day.weekday()]
