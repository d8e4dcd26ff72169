"""Loads: each technician's day split into service, upkeep, driving, break and slack."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from sqlmodel import Session

from dispatch.actions import read_plan
from dispatch.clock import IsoWeek
from dispatch.settings import Settings


@dataclass(frozen=True, slots=True)
class DayLoad:
    """One technician's day in seconds; `service_s` is without upkeep.

    `other_s` is paid, neither at a pool nor on the way: waiting and the supply stop.
    `shift_s` is the day's capacity; 0 on a day without a shift.
    """

    technician_id: str
    name: str
    day: date
    stops: int
    service_s: int
    upkeep_s: int
    drive_s: int
    break_s: int
    shift_s: int
    other_s: int = 0

    @property
    def work_s(self) -> int:
        """Service, upkeep, driving and what else is paid, in seconds."""
        return self.service_s + self.upkeep_s + self.drive_s + self.other_s

    @property
    def filled(self) -> float:
        """Share of the shift that is work or break; above 1 when overfull, 0 without a shift."""
        return (self.work_s + self.break_s) / self.shift_s if self.shift_s else 0.0

    @property
    def slack_s(self) -> int:
        """Seconds of the shift without work or break; below zero when the day is overfull."""
        return self.shift_s - self.work_s - self.break_s


@dataclass(frozen=True, slots=True)
class WeekLoad:
    """One technician's days of a week."""

    technician_id: str
    name: str
    days: tuple[DayLoad, ...]

    @property
    def total(self) -> DayLoad:
        """The days added up, dated with the first of them."""
        return _sum(self.days)


def week_loads(session: Session, settings: Settings, week: IsoWeek) -> list[WeekLoad]:
    """Loads of a planned week by technician; raises NotFound for a week without a plan."""
    upkeep_s = _upkeep_seconds(session, week)
    loads = [
        DayLoad(
            technician_id=one.technician_id,
            name=one.name,
            day=one.day,
            stops=one.stops,
            service_s=one.service_s - upkeep_s[one.technician_id, one.day],
            upkeep_s=upkeep_s[one.technician_id, one.day],
            drive_s=one.drive_s,
            break_s=one.break_s,
            shift_s=one.shift_s,
            other_s=one.wait_s + one.supply_s,
        )
        for one in read_plan.workloads(session, settings, week)
    ]
    return [
        WeekLoad(technician_id, name, tuple(days))
        for (technician_id, name), days in groupby(loads, lambda one: (one.technician_id, one.name))
    ]


def total_of(loads: Sequence[WeekLoad]) -> DayLoad:
    """All technicians added up."""
    return _sum([load.total for load in loads])


def _upkeep_seconds(session: Session, week: IsoWeek) -> defaultdict[tuple[str, date], int]:
    minutes = {key: one.minutes for key, one in read_plan.plan_upkeep(session, week).items()}
    found: defaultdict[tuple[str, date], int] = defaultdict(int)
    for route in read_plan.week_plan(session, week).routes:
        for stop in route.stops:
            for upkeep_id in stop.upkeep_ids:
                found[route.technician_id, route.day] += minutes[upkeep_id] * 60
    return found


def _sum(days: Sequence[DayLoad]) -> DayLoad:
    return DayLoad(
        technician_id=days[0].technician_id,
        name=days[0].name,
        day=days[0].day,
        stops=sum(one.stops for one in days),
        service_s=sum(one.service_s for one in days),
        upkeep_s=sum(one.upkeep_s for one in days),
        drive_s=sum(one.drive_s for one in days),
        break_s=sum(one.break_s for one in days),
        shift_s=sum(one.shift_s for one in days),
        other_s=sum(one.other_s for one in days),
    )
