"""The week plan as values: routes of stops with their times, and what found no place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Literal

from dispatch.clock import IsoWeek

Pause = Literal["meal", "supply"]  # what a route has beside its stops


@dataclass(frozen=True, slots=True)
class Stop:
    """A visit with its place and times in a route.

    Times are seconds after local midnight. `drive_s` and `drive_m` are the leg that leads here.
    Service begins at `start_s` and ends at `leave_s`; the upkeep named is part of it.
    """

    visit_id: str
    site_id: str
    drive_s: int
    drive_m: int
    arrive_s: int
    start_s: int
    leave_s: int
    upkeep_ids: tuple[str, ...] = ()

    @property
    def wait_s(self) -> int:
        """Seconds between arrival and the beginning of service (a break may fill them)."""
        return self.start_s - self.arrive_s


@dataclass(frozen=True, slots=True)
class Route:
    """One technician's ordered stops of one day, from the start place to the end place.

    `break_after` is the number of stops before the meal (0: before the first), None without one;
    `break_start_s` is when it begins. `supply_after` is the number of stops before the supply
    stop, which begins at `supply_start_s` and is reached after `supply_drive_s` and
    `supply_drive_m`; the leg of the stop after it begins there. `drive_s`, `drive_m` count every
    leg, the return included; `wait_s` is the day's waiting in front of gates and for the meal,
    `overtime_s` what it lasts beyond its regular end. `chemicals_kg` are part of `load_kg`.
    """

    technician_id: str
    day: date
    stops: tuple[Stop, ...]
    start_s: int
    end_s: int
    drive_s: int
    drive_m: int
    service_s: int
    wait_s: int
    return_drive_s: int
    return_drive_m: int
    break_after: int | None = None
    break_start_s: int | None = None
    break_s: int = 0
    load_kg: float = 0.0
    chemicals_kg: float = 0.0
    overtime_s: int = 0
    supply_after: int | None = None
    supply_start_s: int | None = None
    supply_s: int = 0
    supply_drive_s: int = 0
    supply_drive_m: int = 0

    @property
    def work_s(self) -> int:
        """Paid time: from the start to the end of the day, the unpaid meal left out."""
        return self.end_s - self.start_s - self.break_s

    def pauses(self, after: int) -> tuple[Pause, ...]:
        """What is made between so many stops and the next one, in its order."""
        made: tuple[tuple[int | None, int | None, Pause], ...] = (
            (self.break_after, self.break_start_s, "meal"),
            (self.supply_after, self.supply_start_s, "supply"),
        )
        here = sorted((at, kind) for n, at, kind in made if n == after and at is not None)
        return tuple(kind for _at, kind in here)


class Rule(StrEnum):
    """A rule that a stop in a cell (technician and day) can break."""

    DAY = "day"  # the day is not among the days the visit may have
    SHIFT = "shift"  # the technician does not work that day
    TECHNICIAN_LOCK = "technician-lock"
    SKILL = "skill"
    WINDOW = "window"  # seconds too late for the time window
    OVERFULL = "overfull"  # seconds beyond the end of the shift
    BREAK = "break"  # seconds the meal begins too late
    PAYLOAD = "payload"  # kg above the payload
    CHEMICALS = "chemicals"  # kg of regulated chemicals above what may be aboard at once
    CREW = "crew"  # persons missing
    UNWANTED = "unwanted"  # a technician whom the customer does not want
    HOURS = "hours"  # seconds above the most a technician's week may hold
    KEPT = "kept"  # a visit that must stay where it stands
    GAP = "gap"  # two visits of a site whose days form no agreed pattern
    DRIVE = "drive"  # no way to drive there and back
    COUNT = "count"  # a visit twice in the plan, or not in it and not listed as unplaced
    FALSE = "false"  # a field says something else than what follows from the problem and the orders


@dataclass(frozen=True, slots=True)
class Broken:
    """One rule broken in one cell, by how much (`amount` in the unit the rule states)."""

    rule: Rule
    technician_id: str | None
    day: date | None
    amount: float = 0.0
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A visit that is due and in no route: the reason in words, and as data for every cell."""

    visit_id: str
    site_id: str
    reason: str
    cells: tuple[Broken, ...] = ()


@dataclass(frozen=True, slots=True)
class PutOff:
    """Upkeep moved to a later week.

    `by` is the latest day; `late` tells that no visit before that day is left. (Of a site without a
    visit in the week only that the day lies in it: its next visit is no part of the problem.)
    """

    upkeep_id: str
    site_id: str
    title: str
    by: date
    late: bool
    reason: str


@dataclass(frozen=True, slots=True)
class Change:
    """A visit that leaves its usual technician or weekday, as a decision to be shown.

    `usual` and `planned` are in words, as 'Ana, Fri'; `reason` says why in a sentence.
    """

    visit_id: str
    site_id: str
    usual: str
    planned: str
    reason: str


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """Routes of one ISO week and everything that was due and is not in them."""

    week: IsoWeek
    routes: tuple[Route, ...]
    unplaced: tuple[Unplaced, ...]
    put_off: tuple[PutOff, ...]
    changes: tuple[Change, ...]
    cost_s: int
    seed: int
    iterations: int
    problem_digest: str

    @property
    def drive_s(self) -> int:
        """Driving of the whole week in seconds."""
        return sum(route.drive_s for route in self.routes)

    @property
    def service_s(self) -> int:
        """Service of the whole week in seconds, upkeep included."""
        return sum(route.service_s for route in self.routes)
