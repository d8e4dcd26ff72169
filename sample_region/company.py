"""The tables of the invented company: sites, technicians, holds."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date, timedelta
from random import Random

from sample_region.addresses import House
from sample_region.agreements import agree
from sample_region.crew import CREW, WEEKDAYS, Technician
from sample_region.customers import Customer, customers_of, names_of
from sample_region.equipment import equipment_of
from sample_region.plane import Point, to_lat_lon
from sample_region.town import NAME, Town

Row = dict[str, str]

ADDRESS_ONLY = 15  # sites given by address alone
EVERY_WEEKS = {"twice-a-week": 1, "weekly": 1, "every-2-weeks": 2, "every-4-weeks": 4}
AGREED_BESIDES = ("seasons", "priority", "unwanted_technicians", "chemicals_kg", "monthly_price")
GATE_NOTES = (
    "side gate left of the garage",
    "latch on the inside, reach over",
    "gate behind the hedge, lift and push",
    "use the alley gate",
    "ring first, then side gate on the right",
    "key box on the meter wall",
    "close the gate, toddler in the house",
)
DOGS = (
    "old and friendly",
    "loose in the yard, call first",
    "barks, harmless",
    "two dogs, kept in until noon",
    "bites boots, bring a treat",
)


def site_rows(town: Town, as_of: date, seed: int) -> list[Row]:
    """One row for each customer; dates are relative to `as_of`."""
    rng = Random(seed + 3)
    customers = customers_of(town.houses, rng)
    equipment = equipment_of([c.pool.volume_gal for c in customers], as_of, rng)
    public = [n for n, c in enumerate(customers) if not c.house.private]
    without_place = set(rng.sample(public, ADDRESS_ONLY))
    locks = _locks(customers, rng)
    rows = []
    for n, (customer, cells) in enumerate(zip(customers, equipment, strict=True)):
        row = {
            "id": f"S{n + 1:03d}",
            "name": f"{customer.name} ({customer.pool.kind})",
            "address": _address(customer.house),
            **_place("", None if n in without_place else customer.house.gate),
            **_agreement(customer, rng),
            "lock": locks.get(n, ""),
            **_access(customer, rng),
            "pool_volume_gal": str(customer.pool.volume_gal),
            **asdict(cells),
            **_visits(customer, as_of, rng),
            **dict.fromkeys(AGREED_BESIDES, ""),
        }
        rows.append(row)
    agree(rows, as_of)
    return rows


def _address(house: House) -> str:
    return f"{house.number} {house.street}, {NAME}"


def _place(prefix: str, point: Point | None) -> Row:
    if point is None:
        return {f"{prefix}lat": "", f"{prefix}lon": ""}
    lat, lon = to_lat_lon(point)
    return {f"{prefix}lat": f"{lat:.6f}", f"{prefix}lon": f"{lon:.6f}"}


def _agreement(customer: Customer, rng: Random) -> Row:
    """Rhythm, minutes, weekdays and window; usual weekdays are always allowed."""
    usual = set(customer.weekdays)
    allowed = ""
    draw = rng.random()
    if draw < 0.08 and usual <= {0, 1, 2, 3}:
        allowed = "Mon-Thu"
    elif draw < 0.14 and usual <= {1, 2, 3, 4}:
        allowed = "Tue-Fri"
    elif draw < 0.18 and len(usual) == 1:
        day = min(usual)
        allowed = names_of(sorted({day, (day + 2) % 5, (day + 3) % 5}))
    window = rng.choices(("", "08:00-17:00", "09:00-12:00"), (78, 17, 5))[0]
    return {
        "rhythm": customer.rhythm,
        "service_min": str(customer.pool.service_min),
        "allowed_weekdays": allowed or "Mon-Fri",
        "windows": window,
        "usual_technician": customer.technician_id,
        "usual_weekday": names_of(customer.weekdays),
    }


def _locks(customers: Sequence[Customer], rng: Random) -> dict[int, str]:
    """A few locks, by the customer's number.

    One of them locks the technician and the weekday on the day that technician is off, so that
    the coming week holds a visit that cannot be placed.
    """
    off = {(t.id, (t.off_weekday,)) for t in CREW}
    missed = [n for n, c in enumerate(customers) if (c.technician_id, c.weekdays) in off]
    first = rng.choice([n for n in missed if customers[n].rhythm == "weekly"])
    picked = rng.sample([n for n in range(len(customers)) if n not in missed], 11)
    kinds = ["technician"] * 4 + ["weekday"] * 6 + ["both"]
    return {first: "both"} | dict(zip(picked, kinds, strict=True))


def _access(customer: Customer, rng: Random) -> Row:
    """Gate, dog, and the skill a heated pool with a spa needs now and then."""
    code = ""
    if customer.house.private or rng.random() < 0.28:
        code = f"{rng.choice('#*')}{rng.randrange(1000, 9999)}"
    able = "heater" in next(t for t in CREW if t.id == customer.technician_id).skills
    heated = able and customer.pool.kind == "pool with spa" and rng.random() < 0.2
    return {
        "skills": "heater" if heated else "",
        "gate_note": rng.choice(GATE_NOTES) if rng.random() < 0.55 else "",
        "gate_code": code,
        "dog": rng.choice(DOGS) if rng.random() < 0.24 else "",
    }


def _visits(customer: Customer, as_of: date, rng: Random) -> Row:
    """The last visit before `as_of`, and for the slower rhythms the day it is counted from."""
    last = max(as_of - timedelta(days=(as_of.weekday() - d - 1) % 7 + 1) for d in customer.weekdays)
    weeks = EVERY_WEEKS[customer.rhythm]
    last -= timedelta(weeks=rng.randrange(weeks))
    anchor = ""
    if weeks > 1:
        anchor = (last - timedelta(weeks=weeks * rng.randrange(2))).isoformat()
    return {"last_visit_on": last.isoformat(), "anchor_on": anchor}


def technician_rows(town: Town, sites: Sequence[Mapping[str, str]], as_of: date) -> list[Row]:
    """One row for each technician; homes lie near the usual routes."""
    monday = as_of + timedelta(days=7 - as_of.weekday())
    shop = _nearest(town.houses, town.terrain.centre)
    by_address = {_address(house): house for house in town.houses}
    rows = []
    for technician in CREW:
        usual = [s for s in sites if s["usual_technician"] == technician.id]
        gates = [by_address[s["address"]].gate for s in usual]
        east = sum(x for x, _ in gates) / len(gates) + technician.home_off_m[0]
        north = sum(y for _, y in gates) / len(gates) + technician.home_off_m[1]
        home = _nearest(town.houses, (east, north))
        start = shop if technician.from_shop else home
        end = shop if technician.to_shop else home
        rows.append(_technician_row(technician, start, end, shop, monday))
    return rows


def _technician_row(
    technician: Technician, start: House, end: House, shop: House, monday: date
) -> Row:
    meal = technician.meal or ("", "", "")
    off = technician.off_weekday
    same = start == end
    return {
        "id": technician.id,
        "name": technician.name,
        "start_address": _address(start),
        **_place("start_", start.gate),
        "end_address": "" if same else _address(end),
        **_place("end_", None if same else end.gate),
        **{
            day.lower(): "-".join(technician.shifts.get(number, ()))
            for number, day in enumerate(WEEKDAYS)
        },
        "break_min": str(meal[0]),
        "break_from": meal[1],
        "break_to": meal[2],
        "skills": ";".join(technician.skills),
        "payload_kg": str(technician.payload_kg),
        "days_off": "" if off is None else (monday + timedelta(days=off)).isoformat(),
        "slack_percent": technician.slack_percent,
        "persons": technician.persons,
        "chemicals_most_kg": technician.chemicals_most_kg,
        "supply_min": technician.supply_min,
        "supply_address": _address(shop) if technician.supply_min else "",
        **_place("supply_", shop.gate if technician.supply_min else None),
    }


def _nearest(houses: Sequence[House], point: Point) -> House:
    return min((h for h in houses if not h.private), key=lambda h: math.dist(h.place, point))


def hold_rows(sites: Sequence[Mapping[str, str]], as_of: date) -> list[Row]:
    """Holds: over the whole coming week, over its first days, one past and one to come."""
    monday = as_of + timedelta(days=7 - as_of.weekday())
    weekly = [s["id"] for s in sites if s["rhythm"] == "weekly" and not s["lock"]]
    spans = (
        (weekly[7], -3, 11, "away, pool covered"),
        (weekly[41], 0, 13, "deck being rebuilt"),
        (weekly[73], 0, 1, "painters in the yard"),
        (weekly[102], -40, -12, "away"),
        (weekly[120], 21, 34, "away over the holidays"),
    )
    return [
        {
            "site_id": site_id,
            "first_day": (monday + timedelta(days=first)).isoformat(),
            "last_day": (monday + timedelta(days=last)).isoformat(),
            "reason": reason,
        }
        for site_id, first, last, reason in spans
    ]
