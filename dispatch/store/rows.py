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
    Hold,
    NoticeWish,
    Sanitizer,
    Site,
)
from dispatch.store.equipment_rows import equipment_columns, equipment_of
from dispatch.store.service_plan_rows import (
    overtime_of,
    service_plan_columns,
    service_plan_of,
    supply_of,
    technician_rule_columns,
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
        "pad_note": site.pad_note,
        "pool_volume_l": site.pool_volume_l,
        "sanitizer": str(site.sanitizer),
        "email": site.email,
        "notices": sorted(map(str, site.notices)),
        **service_plan_columns(site.plan),
        **equipment_columns(site.equipment),
    }


def site_of(row: Columns) -> Site:
    """The site of its columns."""
    return Site(
        id=row["id"],
        name=row["name"],
        address=row["address"],
        place=Place(row["lat"], row["lon"]),
        plan=service_plan_of(row),
        gate_note=row["gate_note"],
        gate_code=row["gate_code"],
        dog_note=row["dog_note"],
        pad_note=row["pad_note"],
        pool_volume_l=row["pool_volume_l"],
        sanitizer=Sanitizer(row["sanitizer"]),
        equipment=equipment_of(row),
        email=row["email"],
        notices=frozenset(map(NoticeWish, row["notices"])),
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
        **technician_rule_columns(technician),
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
        overtime=overtime_of(row),
        slack_share=row["slack_share"],
        crew=tuple(row["crew"]),
        supply=supply_of(row),
        chemicals_most_kg=row["chemicals_most_kg"],
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
