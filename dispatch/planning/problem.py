"""The snapshot that one planning run works on: everything in it, in a fixed order, hashable.

A *cell* is one technician's truck on one day. A *demand* is what one site is owed in the week:
visits, and the upkeep that may ride along on them.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from dispatch.clock import IsoWeek
from dispatch.planning.plan import Unplaced
from dispatch.sites import ANY_TIME, TimeWindow
from dispatch.technicians import Break, Shift
from dispatch.upkeep import UpkeepDue

Seconds = npt.NDArray[np.int64]
GRAM_PER_KG = 1000
TRIFLE_KG = 1e-6  # adding up in another order makes a difference
TRIFLE_G = 1e-6  # 0.3 kg times 1,000 is no whole number
NO_DRIVE_S = 10**9  # in a drive-time matrix: there is no way; far beyond any shift


def load_g(kg: float) -> int:
    """A load in whole grams, the next above: what fits in grams fits in kg."""
    return math.ceil(kg * GRAM_PER_KG - TRIFLE_G)


def limit_g(kg: float) -> int:
    """What a truck may carry in whole grams, the next below."""
    return math.floor(kg * GRAM_PER_KG + TRIFLE_G)


@dataclass(frozen=True, slots=True)
class Prices:
    """What a plan pays besides driving, in seconds of driving (our own choice).

    Leaving a visit unplaced costs far more than any detour; a customer's changed technician or
    day is paid for, so that weeks resemble each other. Where no weekday is agreed, days off
    the rhythm are paid for instead, but for the first of them. Putting upkeep off grows dearer
    as its latest day nears.
    """

    unplaced_s: int = 24 * 3600  # more than any route can drive and wait in its day
    waiting: int = 1  # per second of waiting: the technician is paid for it like for driving
    technician_change_s: int = 1800
    day_change_s: int = 3600
    put_off_first_s: int = 900  # just fallen due
    put_off_last_s: int = 7200  # just before the latest day: worth a changed technician and day
    put_off_too_late_s: int = 3 * 3600  # no visit is left before the latest day
    upkeep_late_s: int = 1800  # done in the week, but on a day after its latest
    uneven: float = 0.5  # per second that a week's hours lie outside their band

    @classmethod
    def of_changes(cls, technician_min: float, day_min: float) -> Prices:
        """Prices that hold another technician and another day worth so many minutes of driving."""
        return cls(technician_change_s=round(60 * technician_min), day_change_s=round(60 * day_min))


@dataclass(frozen=True, slots=True)
class Supply:
    """Where a truck takes on chemicals on its way: a row of the matrix, and the paid stay there."""

    place: int
    service_s: int


@dataclass(frozen=True, slots=True)
class Cell:
    """One technician's truck on one day; `start` and `end` are rows of the drive-time matrix.

    `slack_s` is the part of the shift that planning leaves free. Beyond the rest of the shift the
    day may last `overtime_s` longer, at `pay_factor` times the price of a second. `crew` is how
    many persons are aboard. `chemicals_most_kg` is what may be aboard of regulated chemicals at
    once; a truck with a `supply` may take them on again once, on the way. `used_kg` of them are
    used up already, where the cell is the rest of a day.
    """

    technician_id: str
    technician_name: str
    day: date
    shift: Shift
    start: int
    end: int
    skills: frozenset[str] = frozenset()
    payload_kg: float = 400.0
    meal: Break | None = None
    slack_s: int = 0
    overtime_s: int = 0
    pay_factor: float = 1.5
    crew: int = 1
    chemicals_most_kg: float = 200.0
    used_kg: float = 0.0
    supply: Supply | None = None

    @property
    def regular_end_s(self) -> int:
        """When the planned day ends without overtime, seconds after local midnight."""
        return self.shift.end_s - self.slack_s

    @property
    def last_end_s(self) -> int:
        """When the planned day must be over, overtime included."""
        return self.regular_end_s + self.overtime_s

    @property
    def meal_in_shift(self) -> Break | None:
        """The meal, where the latest time it may begin lies within the shift; None otherwise.

        A shift that begins after that time, or ends before it, owes no meal.
        """
        if self.meal and self.shift.start_s <= self.meal.latest_s < self.shift.end_s:
            return self.meal
        return None


@dataclass(frozen=True, slots=True)
class Demand:
    """What one site is owed in the week.

    `patterns` are choices of days, one day per visit; `place` is a row of the drive-time matrix.
    Service lasts `service_s`, longer by `extra_s[k]` at visit k where that is given, and begins
    in one of the `windows`, which rise. `next_visit_on` is the earliest day of a visit after this
    week: upkeep whose latest day lies before it must be done now. Every visit takes `load_kg`
    from the payload, `chemicals_kg` of it regulated chemicals, and needs `crew` persons.
    `off_rhythm` has days on which a visit lies so many days farther from where the rhythm wants it
    after the last one than it must. `unwanted_technician_ids` never come. Leaving a visit out
    costs `importance` times the price. `kept` has for each visit the technician and day it must
    stay with, None where it is free; to leave out one that must stay costs a hundred times as much.
    """

    site_id: str
    visit_ids: tuple[str, ...]
    place: int
    patterns: tuple[tuple[date, ...], ...]
    service_s: int
    next_visit_on: date
    windows: tuple[TimeWindow, ...] = (ANY_TIME,)
    skills: frozenset[str] = frozenset()
    usual_technician_id: str | None = None
    technician_locked: bool = False
    usual_weekdays: frozenset[int] = frozenset()
    off_rhythm: tuple[tuple[date, int], ...] = ()
    upkeep: tuple[UpkeepDue, ...] = ()
    load_kg: float = 0.0
    chemicals_kg: float = 0.0
    crew: int = 1
    unwanted_technician_ids: frozenset[str] = frozenset()
    importance: float = 1.0
    extra_s: tuple[int, ...] = ()
    kept: tuple[tuple[str, date] | None, ...] = ()

    def seconds_of(self, visit: int) -> int:
        """How long visit number `visit` (0, 1 ...) lasts, without upkeep."""
        return self.service_s + (self.extra_s[visit] if self.extra_s else 0)

    def days_off_rhythm(self, day: date) -> int:
        """How many days farther off the rhythm than it must a visit on `day` lies."""
        return dict(self.off_rhythm).get(day, 0)

    @property
    def open_patterns(self) -> tuple[tuple[date, ...], ...]:
        """The patterns that leave every kept visit on its day."""
        held = [(k, one[1]) for k, one in enumerate(self.kept) if one is not None]
        return tuple(
            pattern for pattern in self.patterns if all(pattern[k] == day for k, day in held)
        )


@dataclass(frozen=True, slots=True)
class Hours:
    """What a technician's week may hold, in seconds of paid work (drive, service, waiting).

    Beyond `regular_s` the week is overtime at `pay_factor`, as far as it is not overtime of a day
    already; `most_s` is never exceeded. Hours outside `target_s` plus or minus `band_s` cost
    `Prices.uneven` a second. `spent_s` has been worked outside this problem. None: no such rule.
    """

    technician_id: str
    regular_s: int | None = None
    most_s: int | None = None
    pay_factor: float = 1.5
    target_s: int | None = None
    band_s: int = 0
    spent_s: int = 0

    @property
    def is_rule(self) -> bool:
        """Whether the hours matter to a plan at all, instead of being counted alone."""
        return any(one is not None for one in (self.regular_s, self.most_s, self.target_s))


@dataclass(frozen=True)
class Problem:
    """One week to plan.

    `drive_s` and `drive_m` are square (row: from, column: to), seconds and metres, in the order
    of `place_ids`. `undrivable` are visits that are due where no truck can go; they take no part
    in the search and stand in every plan as unplaced. `stranded_upkeep` is due in the week at a
    site without a visit that could carry it, with the reason; it stands in every plan as put off.
    """

    week: IsoWeek
    cells: tuple[Cell, ...]
    demands: tuple[Demand, ...]
    place_ids: tuple[str, ...]
    drive_s: Seconds
    drive_m: Seconds
    technicians_off: tuple[tuple[str, date], ...] = ()
    undrivable: tuple[Unplaced, ...] = ()
    stranded_upkeep: tuple[tuple[UpkeepDue, str], ...] = ()
    prices: Prices = field(default_factory=Prices)
    hours: tuple[Hours, ...] = ()

    @cached_property
    def digest(self) -> str:
        """SHA-256 over everything a plan depends on; equal problems have equal digests."""
        words = json.dumps(
            {
                "week": str(self.week),
                "cells": self.cells,
                "demands": self.demands,
                "places": self.place_ids,
                "off": self.technicians_off,
                "undrivable": [one.visit_id for one in self.undrivable],
                "stranded": [item for item, _why in self.stranded_upkeep],
                "prices": self.prices,
                "hours": self.hours,
            },
            default=_plain,
        )
        digest = hashlib.sha256(words.encode())
        digest.update(np.ascontiguousarray(self.drive_s).tobytes())
        digest.update(np.ascontiguousarray(self.drive_m).tobytes())
        return digest.hexdigest()

    @cached_property
    def demand_of(self) -> Mapping[str, Demand]:
        """Demands by the ids of their visits."""
        return {visit_id: demand for demand in self.demands for visit_id in demand.visit_ids}

    @cached_property
    def cell_of(self) -> Mapping[tuple[str, date], Cell]:
        """Cells by technician and day."""
        return {(cell.technician_id, cell.day): cell for cell in self.cells}


def _plain(value: Any) -> Any:
    """JSON form of the values a problem is made of; sets in sorted order."""
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, date):
        return value.isoformat()
    return asdict(value)
