"""The week as the dispatcher's page shows it: rows of tables with all that they need."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from api.pages.marks import Mark
from dispatch.one_offs import OneOff, work_id_of
from dispatch.planning.plan import Change, PutOff, Route, Stop, Unplaced, WeekPlan
from dispatch.sites import Site
from dispatch.upkeep import UpkeepDue


@dataclass(frozen=True, slots=True)
class StopRow:
    """A stop of a route; `upkeep_s` is the part of its time that upkeep takes.

    `work` is the one-off job it is made for, None on a regular visit.
    """

    number: int
    stop: Stop
    site: Site
    upkeep: tuple[UpkeepDue, ...]
    work: OneOff | None = None

    @property
    def upkeep_s(self) -> int:
        """Seconds of upkeep in this stop."""
        return sum(one.minutes * 60 for one in self.upkeep)

    @property
    def service_s(self) -> int:
        """Seconds of ordinary service in this stop."""
        return self.stop.leave_s - self.stop.start_s - self.upkeep_s


@dataclass(frozen=True, slots=True)
class RouteTable:
    """One technician's day."""

    mark: Mark
    route: Route
    rows: tuple[StopRow, ...]

    @property
    def upkeep_s(self) -> int:
        """Seconds of upkeep in this route."""
        return sum(row.upkeep_s for row in self.rows)


@dataclass(frozen=True, slots=True)
class DayTable:
    """One day's routes in the order of the technicians; `idle` are those at work without a stop."""

    day: date
    routes: tuple[RouteTable, ...]
    idle: tuple[Mark, ...] = ()

    @property
    def stops(self) -> int:
        """Number of stops of the day."""
        return sum(len(route.rows) for route in self.routes)


@dataclass(frozen=True, slots=True)
class PlacedUpkeep:
    """Upkeep that rides along on a visit of the week."""

    upkeep: UpkeepDue
    site: Site
    mark: Mark
    day: date
    visit_id: str

    @property
    def is_late(self) -> bool:
        """Whether it is done after the day by which it should have been."""
        return self.day > self.upkeep.latest_on


@dataclass(frozen=True, slots=True)
class Carrier:
    """A placed visit on which upkeep of its site may ride."""

    visit_id: str
    mark: Mark
    day: date


@dataclass(frozen=True, slots=True)
class WeekView:
    """Everything on the page of a planned week."""

    plan: WeekPlan
    days: tuple[DayTable, ...]
    placed: tuple[PlacedUpkeep, ...]
    unplaced: tuple[tuple[Unplaced, Site], ...]
    put_off: tuple[tuple[PutOff, Site], ...]
    changes: tuple[tuple[Change, Site], ...]

    def carriers(self, site_id: str, today: date, but: str = "") -> tuple[Carrier, ...]:
        """Visits of the site from `today` on that upkeep may be put on, `but` the one it is on."""
        return tuple(
            Carrier(row.stop.visit_id, table.mark, day.day)
            for day in self.days
            for table in day.routes
            for row in table.rows
            if day.day >= today
            and row.site.id == site_id
            and row.work is None
            and row.stop.visit_id != but
        )

    @property
    def stops(self) -> int:
        """Number of stops of the week."""
        return sum(day.stops for day in self.days)

    @property
    def drive_m(self) -> int:
        """Metres driven in the week."""
        return sum(route.drive_m for route in self.plan.routes)

    @property
    def upkeep_s(self) -> int:
        """Seconds of upkeep in the week."""
        return sum(one.upkeep.minutes * 60 for one in self.placed)

    def first_day(self, today: date) -> date:
        """The day to show at first: today where it has routes, else the first day that has."""
        days = [day.day for day in self.days if day.routes]
        return today if today in days else min(days, default=self.plan.week.monday)


def week_view(
    plan: WeekPlan,
    sites: Mapping[str, Site],
    marks: Mapping[str, Mark],
    upkeep: Mapping[str, UpkeepDue],
    works: Mapping[str, OneOff],
    closed: Collection[date],
) -> WeekView:
    """Put a plan together with the sites, technicians, upkeep and work that its ids name.

    Routes with stops are shown, and beside them who works that day without one; days on which
    nobody works are left out. Nobody is at work without a route on days that are `closed`.
    """
    order = list(marks)
    routes = sorted(
        (route for route in plan.routes if route.stops),
        key=lambda route: (route.day, order.index(route.technician_id)),
    )
    tables = [
        RouteTable(marks[route.technician_id], route, tuple(_rows(route, sites, upkeep, works)))
        for route in routes
    ]
    days = [
        DayTable(
            day,
            tuple(table for table in tables if table.route.day == day),
            ()
            if day in closed
            else _idle(marks, day, {t.mark.technician.id for t in tables if t.route.day == day}),
        )
        for day in plan.week.days
    ]
    return WeekView(
        plan=plan,
        days=tuple(one for one in days if one.routes or one.idle),
        placed=tuple(_placed(tables)),
        unplaced=tuple((one, sites[one.site_id]) for one in plan.unplaced),
        put_off=tuple(
            (one, sites[one.site_id]) for one in sorted(plan.put_off, key=lambda one: one.by)
        ),
        changes=tuple((one, sites[one.site_id]) for one in plan.changes),
    )


def _idle(marks: Mapping[str, Mark], day: date, busy: Collection[str]) -> tuple[Mark, ...]:
    """Technicians with a shift that day and no stop."""
    return tuple(
        mark
        for technician_id, mark in marks.items()
        if technician_id not in busy and mark.technician.shift_on(day) is not None
    )


def _rows(
    route: Route,
    sites: Mapping[str, Site],
    upkeep: Mapping[str, UpkeepDue],
    works: Mapping[str, OneOff],
) -> Iterator[StopRow]:
    for number, stop in enumerate(route.stops, start=1):
        carried = tuple(upkeep[upkeep_id] for upkeep_id in stop.upkeep_ids)
        work = works.get(work_id_of(stop.visit_id))
        yield StopRow(number, stop, sites[stop.site_id], carried, work)


def _placed(tables: Sequence[RouteTable]) -> Iterator[PlacedUpkeep]:
    for table in tables:
        for row in table.rows:
            for one in row.upkeep:
                yield PlacedUpkeep(one, row.site, table.mark, table.route.day, row.stop.visit_id)
