"""The snapshot that one planning run works on: everything in it, in a fixed order, hashable.

A *cell* is one technician's truck on one day. A *demand* is what one site is owed in the week:
visits, and the upkeep that may ride along on them.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from dispatch.clock import IsoWeek
from dispatch.drive.matrix import DriveMatrix
from dispatch.planning.plan import Unplaced
from dispatch.sites import ANY_TIME, Site, TimeWindow
from dispatch.technicians import Break, Shift, Technician
from dispatch.upkeep import UpkeepDue
from dispatch.visits import VisitsDue

Seconds = npt.NDArray[np.int64]
NO_DRIVE_S = 10**9  # in a drive-time matrix: there is no way; far beyond any shift


@dataclass(frozen=True, slots=True)
class Prices:
    """What a plan pays besides driving, in seconds of driving (our own choice).

    Leaving a visit unplaced costs far more than any detour; a customer's changed technician or
    day is paid for, so that weeks resemble each other; putting upkeep off grows dearer as its
    latest day nears.
    """

    unplaced_s: int = 24 * 3600  # more than any route can drive and wait in its day
    waiting: int = 1  # per second of waiting: the technician is paid for it like for driving
    technician_change_s: int = 1800
    day_change_s: int = 3600
    put_off_first_s: int = 900  # just fallen due
    put_off_last_s: int = 7200  # just before the latest day: worth a changed technician and day
    put_off_too_late_s: int = 3 * 3600  # no visit is left before the latest day
    upkeep_late_s: int = 1800  # done in the week, but on a day after its latest


@dataclass(frozen=True, slots=True)
class Cell:
    """One technician's truck on one day; `start` and `end` are rows of the drive-time matrix."""

    technician_id: str
    technician_name: str
    day: date
    shift: Shift
    start: int
    end: int
    skills: frozenset[str] = frozenset()
    payload_kg: float = 400.0
    meal: Break | None = None

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
    `next_visit_on` is the earliest day of a visit after this week: upkeep whose latest day lies
    before it must be done now. `load_kg` is what every visit takes from the payload.
    """

    site_id: str
    visit_ids: tuple[str, ...]
    place: int
    patterns: tuple[tuple[date, ...], ...]
    service_s: int
    next_visit_on: date
    window: TimeWindow = ANY_TIME
    skills: frozenset[str] = frozenset()
    usual_technician_id: str | None = None
    technician_locked: bool = False
    usual_weekdays: frozenset[int] = frozenset()
    upkeep: tuple[UpkeepDue, ...] = ()
    load_kg: float = 0.0


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
                "undrivable": self.undrivable,
                "stranded": self.stranded_upkeep,
                "prices": self.prices,
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


def build_problem(
    week: IsoWeek,
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    due: Sequence[VisitsDue],
    upkeep: Sequence[UpkeepDue],
    matrix: DriveMatrix,
    *,
    closed_days: Collection[date] = (),
    no_drive: Mapping[str, str] | None = None,
    prices: Prices | None = None,
) -> Problem:
    """Lay out a week for planning, in an order that depends on ids alone.

    Parameters
    ----------
    closed_days
        Days on which nobody works.
    no_drive
        Sentence by place id (`site:…`, `start:…`, `end:…`) for places without drive times.
    """
    no_drive = no_drive or {}
    row = {place_id: n for n, place_id in enumerate(matrix.ids)}
    by_id = {site.id: site for site in sites}
    ordered = sorted(due, key=lambda visits: visits.site_id)
    reachable = [visits for visits in ordered if f"site:{visits.site_id}" in row]
    stranded = [visits for visits in ordered if f"site:{visits.site_id}" not in row]
    cells, off = _cells(week, technicians, row, frozenset(closed_days))
    candidates = _upkeep_by_site(upkeep, due, by_id)
    return Problem(
        week=week,
        cells=cells,
        demands=tuple(
            _demand(visits, by_id[visits.site_id], row, candidates) for visits in reachable
        ),
        place_ids=matrix.ids,
        drive_s=matrix.drive_s.astype(np.int64),
        drive_m=matrix.drive_m.astype(np.int64),
        technicians_off=off,
        undrivable=tuple(
            Unplaced(visits.visit_id(n + 1), visits.site_id, _no_way(visits.site_id, no_drive))
            for visits in stranded
            for n in range(visits.count)
        ),
        stranded_upkeep=_stranded(week, upkeep, {one.site_id for one in reachable}, no_drive),
        prices=prices or Prices(),
    )


def _stranded(
    week: IsoWeek,
    upkeep: Sequence[UpkeepDue],
    served: Collection[str],
    no_drive: Mapping[str, str],
) -> tuple[tuple[UpkeepDue, str], ...]:
    """Upkeep fallen due by the week's end at sites that no visit of the week can carry it to."""
    idle = "The site has no visit this week that could carry it."
    return tuple(
        (item, no_drive.get(f"site:{item.site_id}", idle))
        for item in sorted(upkeep, key=lambda one: one.id)
        if item.site_id not in served and item.due_on <= week.sunday
    )


def _no_way(site_id: str, no_drive: Mapping[str, str]) -> str:
    return no_drive.get(
        f"site:{site_id}",
        f"Site {site_id} has no drive times: build the street map that covers it.",
    )


def _cells(
    week: IsoWeek,
    technicians: Sequence[Technician],
    row: Mapping[str, int],
    closed_days: frozenset[date],
) -> tuple[tuple[Cell, ...], tuple[tuple[str, date], ...]]:
    """Cells by technician id and day, and the (technician name, day) pairs without one."""
    cells: list[Cell] = []
    off: list[tuple[str, date]] = []
    for technician in sorted(technicians, key=lambda one: one.id):
        start, end = row.get(f"start:{technician.id}"), row.get(f"end:{technician.id}")
        for day in week.days:
            shift = None if day in closed_days else technician.shift_on(day)
            if shift is None or start is None or end is None:
                off.append((technician.name, day))
                continue
            cells.append(
                Cell(
                    technician_id=technician.id,
                    technician_name=technician.name,
                    day=day,
                    shift=shift,
                    start=start,
                    end=end,
                    skills=technician.skills,
                    payload_kg=technician.payload_kg,
                    meal=technician.meal,
                )
            )
    return tuple(cells), tuple(off)


def _demand(
    visits: VisitsDue,
    site: Site,
    row: Mapping[str, int],
    candidates: Mapping[str, tuple[UpkeepDue, ...]],
) -> Demand:
    plan = site.plan
    return Demand(
        site_id=site.id,
        visit_ids=tuple(visits.visit_id(n + 1) for n in range(visits.count)),
        place=row[f"site:{site.id}"],
        patterns=visits.patterns,
        service_s=visits.service_min * 60,
        next_visit_on=_next_visit_on(visits, site),
        window=plan.window,
        skills=plan.skills,
        usual_technician_id=plan.usual_technician_id,
        technician_locked=plan.technician_locked,
        usual_weekdays=plan.usual_weekdays,
        upkeep=candidates.get(site.id, ()),
    )


def _next_visit_on(visits: VisitsDue, site: Site) -> date:
    return visits.week.monday + timedelta(weeks=site.plan.rhythm.every_weeks)


def _upkeep_by_site(
    upkeep: Sequence[UpkeepDue], due: Sequence[VisitsDue], sites: Mapping[str, Site]
) -> dict[str, tuple[UpkeepDue, ...]]:
    """Upkeep that is due before the site's next visit; what may still wait does not take part."""
    next_visit = {visits.site_id: _next_visit_on(visits, sites[visits.site_id]) for visits in due}
    found: dict[str, tuple[UpkeepDue, ...]] = {}
    for item in sorted(upkeep, key=lambda one: one.id):
        if item.site_id in next_visit and item.due_on < next_visit[item.site_id]:
            found[item.site_id] = (*found.get(item.site_id, ()), item)
    return found


def _plain(value: Any) -> Any:
    """JSON form of the values a problem is made of; sets in sorted order."""
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, date):
        return value.isoformat()
    return asdict(value)
