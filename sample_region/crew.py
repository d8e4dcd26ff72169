"""The invented technicians: when they work, what they can do, and what their trucks carry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True, slots=True)
class Technician:
    """An invented technician.

    `shifts` gives the working hours by weekday (0 is Monday). `meal` is minutes, and the span in
    which it may begin. `home_off_m` says how far east and north of the middle of the usual routes
    the home lies, metres. With `from_shop` the truck starts at the shop, with `to_shop` it ends
    there, else at home. `off_weekday` is a weekday off in the coming week. The last four are cells
    of the table: the share of the shift left free, persons aboard by weekday, what of regulated
    chemicals is aboard at most, and the minutes of a supply stop at the shop.
    """

    id: str
    name: str
    shifts: Mapping[int, tuple[str, str]]
    meal: tuple[int, str, str] | None
    skills: tuple[str, ...]
    payload_kg: int
    home_off_m: tuple[float, float] = (0.0, 0.0)
    from_shop: bool = False
    to_shop: bool = False
    off_weekday: int | None = None
    slack_percent: str = ""
    persons: str = ""
    chemicals_most_kg: str = ""
    supply_min: str = ""

    def minutes_on(self, weekday: int) -> int:
        """Minutes of the shift without the meal; 0 on a day without a shift."""
        if weekday not in self.shifts:
            return 0
        start, end = (int(t[:2]) * 60 + int(t[3:]) for t in self.shifts[weekday])
        return end - start - (self.meal[0] if self.meal else 0)


def _days(weekdays: str, start: str, end: str) -> dict[int, tuple[str, str]]:
    return {WEEKDAYS.index(day): (start, end) for day in weekdays.split()}


NOON = (30, "11:00", "13:00")  # an unpaid meal of 30 minutes, common practice

CREW = (
    Technician(
        "T1",
        "Maria C.",
        _days("Mon Tue Wed Thu Fri", "07:00", "15:30"),
        NOON,
        ("media",),
        600,
        (-2100, 1500),
        slack_percent="5",
    ),
    Technician(
        "T2",
        "Devon K.",
        _days("Mon Tue Wed Thu", "06:30", "16:30"),
        NOON,
        ("media",),
        750,
        from_shop=True,
        to_shop=True,
        persons="1;1;1;2;1;1;1",  # a helper on Thursdays
    ),
    Technician(
        "T3",
        "Priya S.",
        _days("Tue Wed Thu Fri", "07:30", "15:30"),
        NOON,
        ("heater", "gas"),
        450,
        (2600, -1500),
        chemicals_most_kg="60",  # a small rack, well below what the law allows
        supply_min="15",
    ),
    Technician("T4", "Luis A.", _days("Mon Wed Fri", "08:00", "13:00"), None, (), 150, (700, 1900)),
    Technician(
        "T5",
        "Tess W.",
        _days("Mon Tue Wed Thu Fri", "06:00", "14:00"),
        (30, "10:00", "12:00"),
        (),
        450,
        (2300, 1300),
        from_shop=True,
        off_weekday=2,
        slack_percent="5",
    ),
)
