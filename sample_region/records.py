"""Invented records of past visits: who was where when, what was read, done and added.

They lead up to the last visit that each site's row names. A few are as records are: a forgotten
check-out, a pressure typed without its unit, a locked gate, a cracked drain cover.
"""

from __future__ import annotations

import json
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random
from typing import Any, cast
from uuid import NAMESPACE_URL, uuid5

from sample_region.company import EVERY_WEEKS
from sample_region.crew import CREW
from sample_region.water import PSI_KPA, Water

WEEKS = 17  # of history; a season's change shows, and it is taken in within seconds
DRIVE_M_PER_S = 9.0  # metres per second as the crow flies, streets and lights included
PARKING_S = 45  # seconds from the truck to the gate and back
METRES_PER_DEGREE = 111_195
SCATTER = 0.18  # of the logarithm of single visits' minutes
CLEANING_MIN = {"sand": 12, "cartridge": 30, "de": 20}  # minutes; common practice
DIRTY_FILTERS, DIRTY_PSI = 3, 11  # psi above the clean pressure; 10 is when one is cleaned
FRESH_DAYS = 8  # after a cleaning in which a high pressure would tell of a worn-out filling
PLAIN_FIELDS = 10  # fields of a record to which nothing out of the ordinary was added
PACE = {"T1": 0.94, "T2": 1.0, "T3": 1.1, "T4": 0.98, "T5": 1.03}

Row = Mapping[str, str]
Record = dict[str, object]


def records(sites: Sequence[Row], as_of: date, seed: int) -> list[Record]:
    """Records of all visits within `WEEKS` weeks before `as_of`, in the order of their days."""
    rng = Random(seed + 11)
    usual = {site["id"]: math.exp(rng.gauss(0.04, 0.2)) for site in sites}
    water = {site["id"]: _water(site, rng) for site in sites}
    routes: defaultdict[tuple[date, str], list[Row]] = defaultdict(list)
    for site in sites:
        for day in _days(site, as_of):
            routes[day, site["usual_technician"]].append(site)
    found = [
        record
        for (day, technician), stops in sorted(routes.items(), key=lambda one: one[0])
        for record in _day(day, technician, stops, usual, water, rng)
    ]
    _spoil(found)
    _leave_dirty(found, sites)
    return found


def write_records(file: Path, found: Sequence[Record]) -> None:
    """Write the records as JSON lines."""
    with file.open("w", encoding="utf-8") as out:
        for record in found:
            out.write(json.dumps(record, ensure_ascii=False) + "\n")


def _water(site: Row, rng: Random) -> Water:
    gallons = int(site["pool_volume_gal"])
    water = Water.begin(rng, gallons, salty=site["sanitizer"] == "salt", media=site["filter"])
    clean_psi, rpm = site.get("filter_clean_psi"), site.get("filter_clean_rpm")
    if clean_psi:  # the register's own clean pressure, at the speed it was read at
        clean_kpa = float(clean_psi) * PSI_KPA
        water.pressure_kpa += clean_kpa - water.clean_kpa
        water.clean_kpa = clean_kpa
        water.pump_rpm = int(float(rpm)) if rpm else 0
    return water


def _days(site: Row, as_of: date) -> Iterator[date]:
    """Days of a site's visits, counted back from its last one."""
    last = date.fromisoformat(site["last_visit_on"])
    names = site["usual_weekday"].replace(",", ";").split(";")
    weekdays = [("Mon", "Tue", "Wed", "Thu", "Fri").index(name.strip()) for name in names]
    for week in range(0, WEEKS, _weeks(site)):
        monday = last - timedelta(days=last.weekday(), weeks=week)
        for weekday in weekdays:
            day = monday + timedelta(days=weekday)
            if as_of - timedelta(weeks=WEEKS) <= day <= last:
                yield day


def _weeks(site: Row) -> int:
    """Weeks from one visit to the next; one for every rhythm of one visit a week and more."""
    return EVERY_WEEKS.get(site["rhythm"], 1)


def _day(
    day: date,
    technician: str,
    stops: Sequence[Row],
    usual: Mapping[str, float],
    water: Mapping[str, Water],
    rng: Random,
) -> Iterator[Record]:
    """One technician's day, each stop after the nearest one before it."""
    shift = next(one for one in CREW if one.id == technician).shifts.get(day.weekday())
    begin = time.fromisoformat(shift[0]) if shift else time(8)
    now = datetime.combine(day, begin, UTC) + timedelta(minutes=rng.uniform(8, 20))
    here: Row | None = None
    left = sorted(stops, key=lambda site: site["id"])
    while left:
        start = here
        site = left[0] if start is None else min(left, key=lambda one: _drive_s(start, one))
        left.remove(site)
        if here is not None:
            now += timedelta(seconds=_drive_s(here, site) * math.exp(rng.gauss(0, 0.15)))
        minutes = int(site["service_min"]) * usual[site["id"]] * PACE[technician]
        record = _visit(site, technician, day, water[site["id"]], rng)
        minutes *= math.exp(rng.gauss(0, SCATTER))
        minutes += CLEANING_MIN[site["filter"]] if record["upkeep"] else 0
        record["arrived_at"] = _stamp(now)
        now += timedelta(minutes=minutes)
        record["left_at"] = _stamp(now)
        here = site
        yield record


def _visit(site: Row, technician: str, day: date, water: Water, rng: Random) -> Record:
    water.week(_weeks(site))
    readings = water.readings(day, monthly=rng.random() < 0.27)
    upkeep, after = water.clean()
    return {
        "id": str(uuid5(NAMESPACE_URL, f"invented visit {site['id']} {day}")),
        "site_id": site["id"],
        "technician_id": technician,
        "day": day.isoformat(),
        "readings": [*readings, *after],
        "work": ["skimmed", "brushed", "baskets"],
        "products": water.treat(),
        "upkeep": upkeep,
    }


def _drive_s(start: Row, end: Row) -> float:
    """Seconds of driving between two gates as the crow flies; a few minutes where one has none."""
    if not (start["lat"] and end["lat"]):
        return 300.0
    north = (float(end["lat"]) - float(start["lat"])) * METRES_PER_DEGREE
    squeezed = METRES_PER_DEGREE * math.cos(math.radians(float(start["lat"])))
    east = (float(end["lon"]) - float(start["lon"])) * squeezed
    return PARKING_S + math.hypot(north, east) / DRIVE_M_PER_S


def _spoil(found: Sequence[Record]) -> None:
    """Make a few of the last records as records are."""
    newest = found[-60:]
    newest[3]["seen"] = ["drain-cover-cracked"]
    newest[3]["note"] = "Cover on the deep end, two screws gone."
    newest[11]["parts_to_order"] = ["Pump lid o-ring"]
    newest[17]["readings"] = [{"kind": "free-chlorine", "value": 0.4, "method": "drops"}]
    newest[23]["readings"] = [{"kind": "filter-pressure", "value": 19, "method": "gauge"}]
    newest[29]["seen"] = ["leak"]
    newest[47]["seen"] = ["drain-cover-loose"]
    for n, words in ((35, "gate locked, nobody answered"), (41, "thunder, left the yard")):
        newest[n].update(skipped=words, work=[], products=[], upkeep=[], readings=[])
    for record in found[40::97]:
        late = datetime.fromisoformat(str(record["left_at"])) + timedelta(minutes=170)
        record["left_at"] = _stamp(late)


def _leave_dirty(found: Sequence[Record], sites: Sequence[Row]) -> None:
    """Let the last pressure of a few filters stand above what they are to be cleaned at.

    Only where the clean pressure is known: from a cleaning that the site's row does not know yet.
    """
    known = {site["id"]: site.get("filter_cleaned_on", "") for site in sites}
    speeds = {site["id"] for site in sites if site.get("pump") == "variable"}
    last = {str(record["site_id"]): record for record in found}
    cleaned: defaultdict[str, list[float]] = defaultdict(list)
    for record in found:
        if record["upkeep"] and str(record["day"]) > known[str(record["site_id"])]:
            cleaned[str(record["site_id"])].append(_pressures(record)[-1]["value"])
    latest = {str(one["site_id"]): one for one in found if one["upkeep"]}
    plain = [one for one in last.values() if len(one) == PLAIN_FIELDS and not one["upkeep"]]
    fit = [
        one
        for one in plain
        if cleaned[str(one["site_id"])]
        and _pressures(one)
        and one["site_id"] not in speeds
        and _days_since(latest[str(one["site_id"])], one) > FRESH_DAYS
    ]
    for record in fit[-DIRTY_FILTERS:]:
        _pressures(record)[0]["value"] = min(cleaned[str(record["site_id"])]) + DIRTY_PSI
        record["note"] = "Filter is due, no time left today."


def _days_since(earlier: Record, later: Record) -> int:
    days = [date.fromisoformat(str(one["day"])) for one in (earlier, later)]
    return (days[1] - days[0]).days


def _pressures(record: Record) -> list[dict[str, Any]]:
    readings = cast("list[dict[str, Any]]", record["readings"])
    return [one for one in readings if one["kind"] == "filter-pressure"]


def _stamp(at: datetime) -> str:
    """A local time without its zone: the product takes it in the company's own."""
    return at.replace(tzinfo=None).isoformat(timespec="seconds")
