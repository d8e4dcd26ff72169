"""Service plans, one-off work and the technicians' rules as columns and back.

As in `store.rows`: sets are sorted, so that equal values give equal columns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from dispatch.one_offs import OneOff
from dispatch.places import Place
from dispatch.rhythms import MonthDay, Rhythm, Season
from dispatch.service_plan import Priority, ServicePlan, VisitKind
from dispatch.technicians import Overtime, SupplyStop, Technician
from dispatch.windows import TimeWindow

Columns = Mapping[str, Any]


def service_plan_columns(plan: ServicePlan) -> dict[str, Any]:
    """Columns of a service plan, as in `ServicePlanFields`."""
    return {
        "rhythm": str(plan.rhythm),
        "service_min": plan.service_min,
        "allowed_weekdays": sorted(plan.allowed_weekdays),
        "windows": _window_pairs(plan.windows),
        "usual_technician_id": plan.usual_technician_id,
        "usual_weekdays": sorted(plan.usual_weekdays),
        "technician_locked": plan.technician_locked,
        "weekday_locked": plan.weekday_locked,
        "skills": sorted(plan.skills),
        "last_visit_on": plan.last_visit_on,
        "anchor_on": plan.anchor_on,
        "unwanted_technician_ids": sorted(plan.unwanted_technician_ids),
        "crew": plan.crew,
        "priority": str(plan.priority),
        "seasons": [_season_object(season) for season in plan.seasons],
        "first_service_min": plan.first_service_min,
        "started_on": plan.started_on,
        "chemicals_kg": plan.chemicals_kg,
        "monthly_price": plan.monthly_price,
    }


def service_plan_of(row: Columns) -> ServicePlan:
    """The service plan of its columns."""
    return ServicePlan(
        rhythm=Rhythm(row["rhythm"]),
        service_min=row["service_min"],
        allowed_weekdays=frozenset(row["allowed_weekdays"]),
        windows=_windows_of(row["windows"]),
        usual_technician_id=row["usual_technician_id"],
        usual_weekdays=frozenset(row["usual_weekdays"]),
        technician_locked=row["technician_locked"],
        weekday_locked=row["weekday_locked"],
        skills=frozenset(row["skills"]),
        last_visit_on=row["last_visit_on"],
        anchor_on=row["anchor_on"],
        unwanted_technician_ids=frozenset(row["unwanted_technician_ids"]),
        crew=row["crew"],
        priority=Priority(row["priority"]),
        seasons=tuple(_season_of(season) for season in row["seasons"]),
        first_service_min=row["first_service_min"],
        started_on=row["started_on"],
        chemicals_kg=row["chemicals_kg"],
        monthly_price=row["monthly_price"],
    )


def technician_rule_columns(technician: Technician) -> dict[str, Any]:
    """Columns of a technician's rules, as in `TechnicianRuleFields`."""
    overtime, supply = technician.overtime, technician.supply
    return {
        "overtime_day_most_min": overtime and overtime.day_most_min,
        "overtime_week_most_min": overtime and overtime.week_most_min,
        "overtime_week_regular_min": overtime and overtime.week_regular_min,
        "overtime_pay_factor": overtime and overtime.pay_factor,
        "slack_share": technician.slack_share,
        "crew": list(technician.crew),
        "supply_lat": supply and supply.place.lat,
        "supply_lon": supply and supply.place.lon,
        "supply_min": supply and supply.minutes,
        "chemicals_most_kg": technician.chemicals_most_kg,
    }


def overtime_of(row: Columns) -> Overtime | None:
    """The overtime of a technician's columns."""
    if row["overtime_day_most_min"] is None:
        return None
    return Overtime(
        day_most_min=row["overtime_day_most_min"],
        week_most_min=row["overtime_week_most_min"],
        week_regular_min=row["overtime_week_regular_min"],
        pay_factor=row["overtime_pay_factor"],
    )


def supply_of(row: Columns) -> SupplyStop | None:
    """The supply stop of a technician's columns."""
    if row["supply_min"] is None:
        return None
    return SupplyStop(Place(row["supply_lat"], row["supply_lon"]), row["supply_min"])


def one_off_columns(work: OneOff) -> dict[str, Any]:
    """Columns of one-off work, as in `OneOffFields`."""
    return {
        "id": work.id,
        "site_id": work.site_id,
        "title": work.title,
        "kind": str(work.kind),
        "first_day": work.first_day,
        "last_day": work.last_day,
        "minutes": list(work.minutes),
        "consecutive": work.consecutive,
        "skills": sorted(work.skills),
        "crew": work.crew,
        "windows": _window_pairs(work.windows),
        "priority": str(work.priority),
        "parts": work.parts,
        "mass_kg": work.mass_kg,
        "chemicals_kg": work.chemicals_kg,
        "technician_id": work.technician_id,
        "note": work.note,
        "visited_on": [day.isoformat() for day in work.visited_on],
        "done_on": work.done_on,
    }


def one_off_of(row: Columns) -> OneOff:
    """The one-off work of its columns."""
    return OneOff(
        id=row["id"],
        site_id=row["site_id"],
        title=row["title"],
        kind=VisitKind(row["kind"]),
        first_day=row["first_day"],
        last_day=row["last_day"],
        minutes=tuple(row["minutes"]),
        consecutive=row["consecutive"],
        skills=frozenset(row["skills"]),
        crew=row["crew"],
        windows=_windows_of(row["windows"]),
        priority=Priority(row["priority"]),
        parts=row["parts"],
        mass_kg=row["mass_kg"],
        chemicals_kg=row["chemicals_kg"],
        technician_id=row["technician_id"],
        note=row["note"],
        visited_on=tuple(date.fromisoformat(day) for day in row["visited_on"]),
        done_on=row["done_on"],
    )


def _window_pairs(windows: Sequence[TimeWindow]) -> list[list[int]]:
    return [list(window.pair) for window in windows]


def _windows_of(pairs: Sequence[Sequence[int]]) -> tuple[TimeWindow, ...]:
    return tuple(TimeWindow(start_s, end_s) for start_s, end_s in pairs)


def _season_object(season: Season) -> dict[str, Any]:
    return {
        "first": [season.first.month, season.first.day],
        "last": [season.last.month, season.last.day],
        "rhythm": season.rhythm and str(season.rhythm),
        "service_min": season.service_min,
    }


def _season_of(row: Columns) -> Season:
    return Season(
        MonthDay(*row["first"]),
        MonthDay(*row["last"]),
        row["rhythm"] and Rhythm(row["rhythm"]),
        row["service_min"],
    )
