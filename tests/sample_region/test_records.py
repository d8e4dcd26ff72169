"""The invented records of past visits."""

from __future__ import annotations

import json
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any, cast

from sample_region.records import WEEKS, records, write_records
from sample_region.water import RISE_KPA, Water

AS_OF = date(2026, 11, 23)
SITES = [
    {
        "id": f"S{n:03d}",
        "lat": f"{31 + n / 1000:.6f}",
        "lon": "-130.0",
        "rhythm": "weekly" if n % 5 else "every-2-weeks",
        "service_min": "30",
        "usual_technician": f"T{n % 5 + 1}",
        "usual_weekday": "Mon",
        "pool_volume_gal": "15000",
        "sanitizer": "salt" if n % 2 else "chlorine",
        "filter": ("sand", "cartridge", "de")[n % 3],
        "last_visit_on": "2026-11-16",
    }
    for n in range(40)
]


def list_of(record: dict[str, object], name: str) -> list[dict[str, Any]]:
    return cast("list[dict[str, Any]]", record[name])


def test_the_same_day_gives_the_same_records() -> None:
    """A demo that changes from start to start cannot be talked about."""
    assert records(SITES, AS_OF, 7) == records(SITES, AS_OF, 7)
    assert records(SITES, AS_OF, 8) != records(SITES, AS_OF, 7)


def test_records_lead_up_to_the_last_visit() -> None:
    """Weekly sites have one each week, others one every second; none lies after the last visit."""
    found = records(SITES, AS_OF, 7)
    count = Counter(str(one["site_id"]) for one in found)
    days = {date.fromisoformat(str(one["day"])) for one in found}
    assert max(days) == date(2026, 11, 16)
    assert min(days) >= AS_OF - timedelta(weeks=WEEKS)
    assert count["S001"] in (WEEKS - 1, WEEKS)
    assert count["S000"] in (WEEKS // 2, WEEKS // 2 + 1)


def test_a_few_filters_are_left_above_their_threshold() -> None:
    """The demo's due list shows a pressure, the clean one and the threshold of 10 psi."""
    found = records(SITES, AS_OF, 7)
    dirty = [one for one in found if "Filter is due" in str(one.get("note"))]
    assert len(dirty) == 3
    for record in dirty:
        own = [one for one in found if one["site_id"] == record["site_id"]]
        assert own[-1] is record
        pressures = [
            [
                line["value"]
                for line in list_of(one, "readings")
                if line["kind"] == "filter-pressure"
            ]
            for one in own
        ]
        clean = min(read[-1] for one, read in zip(own, pressures, strict=True) if one["upkeep"])
        assert pressures[-1] == [clean + 11]


def test_ids_are_unique() -> None:
    """A record whose id is taken would be set aside."""
    ids = Counter(one["id"] for one in records(SITES, AS_OF, 7))
    assert max(ids.values()) == 1


def test_a_few_records_are_as_records_are() -> None:
    """The demo shows a closed pool, a skipped visit and a forgotten check-out."""
    found = records(SITES, AS_OF, 7)
    assert sum("drain-cover-cracked" in str(one.get("seen")) for one in found) == 1
    assert sum("drain-cover-loose" in str(one.get("seen")) for one in found) == 1
    assert sum("skipped" in one for one in found) == 2


def test_a_filter_is_cleaned_when_its_pressure_has_risen() -> None:
    """The plot shows the climb to the threshold and the fall to the clean pressure."""
    water = Water.begin(Random(1), 15_000, salty=False, media="sand")
    assert water.clean() == ([], []) or water.pressure_kpa >= water.clean_kpa
    water.pressure_kpa = water.clean_kpa + RISE_KPA
    done, after = water.clean()
    assert done == [{"kind": "backwash"}]
    assert after[0]["kind"] == "filter-pressure"
    assert water.pressure_kpa < water.clean_kpa + 5


def test_records_are_written_as_lines(tmp_path: Path) -> None:
    """One JSON object on each line."""
    found = records(SITES, AS_OF, 7)
    write_records(tmp_path / "records.jsonl", found)
    lines = (tmp_path / "records.jsonl").read_text().splitlines()
    assert [json.loads(line) for line in lines] == found
