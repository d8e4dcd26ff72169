"""What is due in a week and what was planned for it, as lists."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from dispatch.actions.lists import ListTable
from dispatch.actions.read_plan import Workload
from dispatch.clock import WEEKDAYS
from dispatch.day.moments import clock_time
from dispatch.measures import measured
from dispatch.planning.plan import WeekPlan
from dispatch.upkeep import UnknownDate, UpkeepDue
from dispatch.visits import NotDue, VisitsDue


def visit_list(due: Iterable[VisitsDue]) -> ListTable:
    """Visits owed, with the days that planning may choose from."""
    rows = tuple(
        (
            one.site_id,
            one.demand_id,
            str(one.kind),
            one.title,
            one.count,
            _days(one.patterns),
            _minutes(one.service_min),
            one.crew,
            str(one.priority),
            str(one.because),
            one.note,
        )
        for one in due
    )
    columns = (
        "site_id",
        "demand_id",
        "kind",
        "title",
        "visits",
        "days",
        "service_min",
        "crew",
        "priority",
        "because",
        "note",
    )
    return ListTable(columns, rows)


def not_due_list(not_due: Iterable[NotDue]) -> ListTable:
    """Sites and one-off jobs that are owed nothing, and why."""
    rows = tuple((one.site_id, one.demand_id, one.next_due_on, one.reason) for one in not_due)
    return ListTable(("site_id", "demand_id", "next_due_on", "reason"), rows)


def upkeep_list(upkeep: Iterable[UpkeepDue]) -> ListTable:
    """Upkeep that may, should or must be done, most urgent first; pressures in kPa."""
    columns = ("site_id", "upkeep", "earliest_on", "due_on", "latest_on", "minutes", "skill")
    rows = tuple(
        (
            one.site_id,
            one.title,
            one.earliest_on,
            one.due_on,
            one.latest_on,
            one.minutes,
            one.skill,
            one.mass_kg,
            "; ".join(f"{part.quantity:g} x {part.name}" for part in one.parts),
            "" if one.cause is None else one.cause.words(),
            one.set_for,
            "yes" if one.closes_pool else "",
        )
        for one in by_urgency(upkeep)
    )
    return ListTable((*columns, "mass_kg", "parts", "reason", "set_for", "closes_pool"), rows)


def by_urgency(upkeep: Iterable[UpkeepDue]) -> list[UpkeepDue]:
    """What closes a pool first, then what a condition asks for, then by the latest day."""
    return sorted(
        upkeep, key=lambda one: (not one.closes_pool, not one.is_urgent, one.latest_on, one.id)
    )


def unknown_list(unknown: Iterable[UnknownDate]) -> ListTable:
    """Equipment whose upkeep cannot be dated."""
    rows = tuple((one.site_id, one.title, one.mend) for one in unknown)
    return ListTable(("site_id", "upkeep", "mend"), rows)


def stop_list(plan: WeekPlan) -> ListTable:
    """One row for each stop, in the order of the routes; times of day, minutes, kilometres."""
    columns = ("technician_id", "day", "number", "site_id", "drive_min", "drive_km")
    rows = tuple(
        (
            route.technician_id,
            route.day,
            number,
            stop.site_id,
            round(stop.drive_s / 60),
            round(stop.drive_m / 1000, 1),
            clock_time(route.day, stop.arrive_s),
            clock_time(route.day, stop.start_s),
            clock_time(route.day, stop.leave_s),
            "; ".join(stop.upkeep_ids),
            stop.visit_id,
        )
        for route in plan.routes
        for number, stop in enumerate(route.stops, start=1)
    )
    return ListTable((*columns, "arrive", "start", "leave", "upkeep", "visit_id"), rows)


def unplaced_list(plan: WeekPlan) -> ListTable:
    """Visits that are due and in no route, with the reason."""
    rows = tuple((one.site_id, one.visit_id, measured(one.reason)) for one in plan.unplaced)
    return ListTable(("site_id", "visit_id", "reason"), rows)


def put_off_list(plan: WeekPlan) -> ListTable:
    """Upkeep moved to a later week, with the day by which it must happen."""
    rows = tuple(
        (one.site_id, one.title, one.by, "yes" if one.late else "no", measured(one.reason))
        for one in plan.put_off
    )
    return ListTable(("site_id", "upkeep", "by", "late", "reason"), rows)


def change_list(plan: WeekPlan) -> ListTable:
    """Visits that leave their usual technician or weekday."""
    rows = tuple(
        (one.site_id, one.visit_id, one.usual, one.planned, one.reason) for one in plan.changes
    )
    return ListTable(("site_id", "visit_id", "usual", "planned", "reason"), rows)


def workload_list(workloads: Iterable[Workload]) -> ListTable:
    """Hours of each technician and day, to a hundredth."""
    columns = (
        "technician_id",
        "name",
        "day",
        "stops",
        "service_h",
        "drive_h",
        "break_h",
        "wait_h",
        "supply_h",
        "shift_h",
    )
    rows = tuple(
        (
            one.technician_id,
            one.name,
            one.day,
            one.stops,
            _hours(one.service_s),
            _hours(one.drive_s),
            _hours(one.break_s),
            _hours(one.wait_s),
            _hours(one.supply_s),
            _hours(one.shift_s),
        )
        for one in workloads
    )
    return ListTable(columns, rows)


def _hours(seconds: int) -> float:
    return round(seconds / 3600, 2)


def _minutes(minutes: Sequence[int]) -> int | str:
    """Minutes of a visit, or of each where they differ, as '60;25'."""
    return minutes[0] if len(set(minutes)) == 1 else ";".join(map(str, minutes))


def _days(patterns: Sequence[tuple[date, ...]]) -> str:
    """Choices of days as 'Mon+Thu or Tue+Fri'."""
    return " or ".join("+".join(WEEKDAYS[day.weekday()] for day in days) for days in patterns)
