"""Cells of service plans, technicians' rules and one-off work, in the columns of their import."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from dispatch.clock import WEEKDAYS
from dispatch.intake.technician_rule_cells import REGULAR_WEEK_MIN
from dispatch.one_offs import OneOff
from dispatch.service_plan import Priority, ServicePlan
from dispatch.technicians import ALONE, CHEMICALS_MOST_KG, Overtime, SupplyStop, Technician
from dispatch.windows import ALL_DAY, TimeWindow

Cells = dict[str, Any]


def service_plan_cells(plan: ServicePlan) -> Cells:
    """What has been agreed; cells that would say the usual stay empty."""
    locks = {(True, True): "both", (True, False): "technician", (False, True): "weekday"}
    return {
        "rhythm": str(plan.rhythm),
        "service_min": plan.service_min,
        "allowed_weekdays": weekday_names(plan.allowed_weekdays),
        "windows": _windows(plan.windows),
        "usual_technician": plan.usual_technician_id,
        "usual_weekday": weekday_names(plan.usual_weekdays),
        "lock": locks.get((plan.technician_locked, plan.weekday_locked)),
        "skills": ";".join(sorted(plan.skills)),
        "unwanted_technicians": ";".join(sorted(plan.unwanted_technician_ids)),
        "persons": _unless(plan.crew, 1),
        "priority": _unless(str(plan.priority), str(Priority.NORMAL)),
        "seasons": ";".join(map(str, plan.seasons)),
        "first_service_min": plan.first_service_min,
        "started_on": plan.started_on,
        "chemicals_kg": _unless(plan.chemicals_kg, 0.0),
        "monthly_price": plan.monthly_price,
        "last_visit_on": plan.last_visit_on,
        "anchor_on": plan.anchor_on,
    }


def technician_rule_cells(technician: Technician) -> Cells:
    """Slack, persons, overtime, chemicals and supply stop of a technician."""
    crew = technician.crew
    return {
        "slack_percent": _unless(round(100 * technician.slack_share, 6), 0.0),
        "persons": None if crew == ALONE else crew[0] if len(set(crew)) == 1 else _joined(crew),
        **_overtime_cells(technician.overtime),
        "chemicals_most_kg": _unless(technician.chemicals_most_kg, CHEMICALS_MOST_KG),
        **_supply_cells(technician.supply),
    }


def one_off_cells(work: OneOff) -> Cells:
    """One-off work; `consecutive` is always said, because its default goes with the kind."""
    return {
        "id": work.id,
        "site_id": work.site_id,
        "title": work.title,
        "kind": str(work.kind),
        "first_day": work.first_day,
        "last_day": work.last_day,
        "minutes": _joined(work.minutes) if len(work.minutes) > 1 else work.minutes[0],
        "consecutive": "yes" if work.consecutive else "no",
        "skills": ";".join(sorted(work.skills)),
        "persons": _unless(work.crew, 1),
        "windows": _windows(work.windows),
        "priority": _unless(str(work.priority), str(Priority.NORMAL)),
        "parts": work.parts,
        "mass_kg": _unless(work.mass_kg, 0.0),
        "chemicals_kg": _unless(work.chemicals_kg, 0.0),
        "technician": work.technician_id,
        "note": work.note,
        "visited_on": _days(work.visited_on),
        "done_on": work.done_on,
    }


def weekday_names(weekdays: frozenset[int]) -> str:
    """Weekdays as a cell, as in 'Mon;Thu'."""
    return ";".join(WEEKDAYS[n] for n in sorted(weekdays))


def _overtime_cells(overtime: Overtime | None) -> Cells:
    if overtime is None:
        return {}
    return {
        "overtime_day_most_min": overtime.day_most_min,
        "overtime_week_most_min": overtime.week_most_min,
        "overtime_week_regular_min": _unless(overtime.week_regular_min, REGULAR_WEEK_MIN),
        "overtime_pay_factor": overtime.pay_factor,
    }


def _supply_cells(supply: SupplyStop | None) -> Cells:
    if supply is None:
        return {}
    return {
        "supply_min": supply.minutes,
        "supply_lat": supply.place.lat,
        "supply_lon": supply.place.lon,
    }


def _windows(windows: Sequence[TimeWindow]) -> str | None:
    """The windows of a day as a cell; None for any time."""
    return None if tuple(windows) == ALL_DAY else _joined(windows)


def _days(days: Iterable[date]) -> str:
    return ";".join(day.isoformat() for day in days)


def _joined(parts: Iterable[Any]) -> str:
    return ";".join(map(str, parts))


def _unless(value: Any, usual: Any) -> Any:
    """The value, or None where it is the usual one."""
    return None if value == usual else value
