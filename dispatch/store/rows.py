"""Sites, technicians and holds as columns and back; equal after the round trip.

`..._columns` gives a mapping with the names of the `...Fields` models, sets sorted, so that equal
values give equal columns; `..._of` builds the value, which checks itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from dispatch.places import Place
from dispatch.sites import (
    Anode,
    Equipment,
    Filter,
    Hold,
    Media,
    Rhythm,
    SaltCell,
    Sanitizer,
    ServicePlan,
    Site,
    TimeWindow,
)
from dispatch.technicians import Break, Shift, Technician

Columns = Mapping[str, Any]


def site_columns(site: Site) -> dict[str, Any]:
    """Columns of a site, as in `SiteFields`."""
    return {
        "id": site.id,
        "name": site.name,
        "address": site.address,
        "lat": site.place.lat,
        "lon": site.place.lon,
        "gate_note": site.gate_note,
        "gate_code": site.gate_code,
        "dog_note": site.dog_note,
        "pool_volume_l": site.pool_volume_l,
        "sanitizer": str(site.sanitizer),
        **_service_plan_columns(site.plan),
        **_equipment_columns(site.equipment),
    }


def site_of(row: Columns) -> Site:
    """The site of its columns."""
    return Site(
        id=row["id"],
        name=row["name"],
        address=row["address"],
        place=Place(row["lat"], row["lon"]),
        plan=_service_plan_of(row),
        gate_note=row["gate_note"],
        gate_code=row["gate_code"],
        dog_note=row["dog_note"],
        pool_volume_l=row["pool_volume_l"],
        sanitizer=Sanitizer(row["sanitizer"]),
        equipment=_equipment_of(row),
    )


def technician_columns(technician: Technician) -> dict[str, Any]:
    """Columns of a technician, as in `TechnicianFields`."""
    meal = technician.meal
    return {
        "id": technician.id,
        "name": technician.name,
        "shifts": [shift and [shift.start_s, shift.end_s] for shift in technician.shifts],
        "start_lat": technician.start.lat,
        "start_lon": technician.start.lon,
        "end_lat": technician.end.lat,
        "end_lon": technician.end.lon,
        "meal_min": meal and meal.minutes,
        "meal_earliest_s": meal and meal.earliest_s,
        "meal_latest_s": meal and meal.latest_s,
        "skills": sorted(technician.skills),
        "payload_kg": technician.payload_kg,
        "days_off": sorted(day.isoformat() for day in technician.days_off),
    }


def technician_of(row: Columns) -> Technician:
    """The technician of the columns."""
    meal = row["meal_min"] and Break(row["meal_min"], row["meal_earliest_s"], row["meal_latest_s"])
    return Technician(
        id=row["id"],
        name=row["name"],
        shifts=tuple(shift and Shift(shift[0], shift[1]) for shift in row["shifts"]),
        start=Place(row["start_lat"], row["start_lon"]),
        end=Place(row["end_lat"], row["end_lon"]),
        meal=meal,
        skills=frozenset(row["skills"]),
        payload_kg=row["payload_kg"],
        days_off=frozenset(date.fromisoformat(day) for day in row["days_off"]),
    )


def hold_columns(hold: Hold) -> dict[str, Any]:
    """Columns of a hold, as in `HoldFields`."""
    return {
        "site_id": hold.site_id,
        "first_day": hold.first_day,
        "last_day": hold.last_day,
        "reason": hold.reason,
    }


def hold_of(row: Columns) -> Hold:
    """The hold of its columns."""
    return Hold(row["site_id"], row["first_day"], row["last_day"], row["reason"])


def _service_plan_columns(plan: ServicePlan) -> dict[str, Any]:
    return {
        "rhythm": str(plan.rhythm),
        "service_min": plan.service_min,
        "allowed_weekdays": sorted(plan.allowed_weekdays),
        "window_start_s": plan.window.start_s,
        "window_end_s": plan.window.end_s,
        "usual_technician_id": plan.usual_technician_id,
        "usual_weekdays": sorted(plan.usual_weekdays),
        "technician_locked": plan.technician_locked,
        "weekday_locked": plan.weekday_locked,
        "skills": sorted(plan.skills),
        "last_visit_on": plan.last_visit_on,
        "anchor_on": plan.anchor_on,
    }


def _service_plan_of(row: Columns) -> ServicePlan:
    return ServicePlan(
        rhythm=Rhythm(row["rhythm"]),
        service_min=row["service_min"],
        allowed_weekdays=frozenset(row["allowed_weekdays"]),
        window=TimeWindow(row["window_start_s"], row["window_end_s"]),
        usual_technician_id=row["usual_technician_id"],
        usual_weekdays=frozenset(row["usual_weekdays"]),
        technician_locked=row["technician_locked"],
        weekday_locked=row["weekday_locked"],
        skills=frozenset(row["skills"]),
        last_visit_on=row["last_visit_on"],
        anchor_on=row["anchor_on"],
    )


def _equipment_columns(equipment: Equipment) -> dict[str, Any]:
    media = equipment.filter
    anode = equipment.anode
    cell = equipment.salt_cell
    return {
        "filter_media": media and str(media.media),
        "media_changed_on": media and media.media_changed_on,
        "media_mass_kg": media and media.media_mass_kg,
        "has_anode": anode is not None,
        "anode_installed_on": anode and anode.installed_on,
        "anode_cleaned_on": anode and anode.cleaned_on,
        "has_salt_cell": cell is not None,
        "cell_installed_on": cell and cell.installed_on,
        "cell_inspected_on": cell and cell.inspected_on,
        "cell_cleaned_on": cell and cell.cleaned_on,
    }


def _equipment_of(row: Columns) -> Equipment:
    media, anode, cell = None, None, None
    if row["filter_media"] is not None:
        media = Filter(Media(row["filter_media"]), row["media_changed_on"], row["media_mass_kg"])
    if row["has_anode"]:
        anode = Anode(row["anode_installed_on"], row["anode_cleaned_on"])
    if row["has_salt_cell"]:
        cell = SaltCell(row["cell_installed_on"], row["cell_inspected_on"], row["cell_cleaned_on"])
    return Equipment(media, anode, cell)
