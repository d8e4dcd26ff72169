"""The pages and one move by hand in the book of a large company: CPU seconds of the service.

The invented company of the demo, its customers, crew and three months of records, several times
over (five times: 950 sites, 25 technicians, 16,000 records), each at another place along the
streets of an invented metropolitan area. Every page is asked for three times and the last one
counts, as for somebody at work. CPU seconds stand beside the time that reading all sites from the
database takes in the same run.

`python -m tests.bench.large_company [--times 5]`
"""

from __future__ import annotations

import argparse
import csv
import io
import json
import random
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient
from sqlalchemy import Engine

from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.maps import build_map, road_map
from dispatch.actions.plan_versions import trail
from dispatch.actions.plan_week import plan_week
from dispatch.actions.record_files import import_record_lines
from dispatch.clock import IsoWeek
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.store.book import read_sites
from dispatch.store.db import transaction
from dispatch.store.plans import read_plan
from sample_region import write as write_region
from sample_region.metro import write_metro
from tests.bench.drive_accuracy import random_places
from tests.signed_in import signed_in_client
from tests.town import open_company

WEEK = IsoWeek(2026, 49)
NEXT = IsoWeek(2026, 50)
MONDAY = WEEK.monday
ITERATIONS = 20_000
JUNCTIONS_PER_SITE = 8
ASKED = 3  # times that each page is asked for
PAGES = (
    f"/week/{WEEK}", f"/week/{NEXT}", f"/week/{WEEK}/check", f"/due/{NEXT}", f"/day/{MONDAY}",
    f"/loads/{WEEK}", "/sites", "/sites/0-S001", "/records", "/year", "/minutes", "/standing",
    f"/api/phone/days/0-T1/{MONDAY}",
)  # fmt: skip
UNSET = ("usual_technician", "usual_weekday", "lock", "unwanted_technicians", "address")


def main() -> None:
    """Make the company, ask for every page, move a stop; print a line for each."""
    words = argparse.ArgumentParser(description="CPU seconds of a large company's pages.")
    words.add_argument("--times", type=int, default=5, help="the demo company so many times")
    times = words.parse_args().times
    with tempfile.TemporaryDirectory() as folder:
        company = open_company(Path(folder), fixed_today=MONDAY)
        engine, settings = company.engine, company.settings
        _found(engine, settings, Path(folder), times)
        reading_s = _cpu_s(lambda: _read(engine))
        print(f"{'':32} CPU s  times reading all sites ({reading_s:.2f} s)")
        with signed_in_client(settings) as client:
            assert client.post(f"/api/weeks/{WEEK}/publish").status_code == 200
            for name, seconds in (*_pages(client), ("a stop moved by hand", _move(client, engine))):
                print(f"{name:32} {seconds:5.2f}  {seconds / reading_s:5.1f}", flush=True)
        engine.dispose()


def _found(engine: Engine, settings: Settings, folder: Path, times: int) -> None:
    """Streets, customers, crew, records and two planned weeks, the first of them published."""
    write_region(folder / "region", MONDAY)
    rows = {
        name: list(csv.DictReader(io.StringIO((folder / "region" / f"{name}.csv").read_text())))
        for name in ("sites", "technicians")
    }
    count = times * sum(map(len, rows.values()))
    write_metro(folder / "metro.osm.pbf", JUNCTIONS_PER_SITE * count)
    build_map(settings, folder / "metro.osm.pbf")
    places = iter(random_places(road_map(settings), count, 8.0, 3).values())
    lines = (folder / "region" / "records.jsonl").read_text().splitlines()
    with transaction(engine) as session:
        crew = [
            _moved(one, n, next(places), "start_")
            for n in range(times)
            for one in rows["technicians"]
        ]
        import_technicians(session, settings, _table(crew))
        sites = [_moved(one, n, next(places), "") for n in range(times) for one in rows["sites"]]
        import_sites(session, settings, _table(sites))
        kept = [_record(line, n) for n in range(times) for line in lines]
        import_record_lines(session, settings, "\n".join(kept))
    for week in (WEEK, NEXT):
        plan_week(engine, settings, week, today=MONDAY, iterations=ITERATIONS)


def _moved(row: dict[str, str], n: int, place: Place, prefix: str) -> dict[str, str]:
    """The n-th copy of a site or technician, at another place."""
    copy = {name: "" if name in UNSET or "end_" in name else text for name, text in row.items()}
    copy |= {"id": f"{n}-{row['id']}", "name": f"{row['name']} {n}"}
    return copy | {f"{prefix}lat": f"{place.lat:.6f}", f"{prefix}lon": f"{place.lon:.6f}"}


def _record(line: str, n: int) -> str:
    record: dict[str, Any] = json.loads(line)
    for name in ("site_id", "technician_id"):
        record[name] = f"{n}-{record[name]}"
    return json.dumps(record | {"id": str(uuid.uuid5(uuid.NAMESPACE_OID, f"{n} {record['id']}"))})


def _table(rows: list[dict[str, str]]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _read(engine: Engine) -> None:
    with transaction(engine, read_only=True) as session:
        read_sites(session)


def _cpu_s(do: Callable[[], object]) -> float:
    """CPU seconds of the third time, when what can be kept is."""
    for _again in range(ASKED):
        began = time.process_time()
        do()
    return time.process_time() - began


def _pages(client: TestClient) -> Iterator[tuple[str, float]]:
    for address in PAGES:
        answer = client.get(address)
        assert answer.status_code == 200, f"{address}: {answer.text[:200]}"
        yield address, _cpu_s(partial(client.get, address))


def _move(client: TestClient, engine: Engine) -> float:
    """CPU seconds of the call that brings a stop of one technician to another one's day."""
    chance, taken_s = random.Random(1), 0.0
    for _again in range(ASKED):
        with transaction(engine, read_only=True) as session:
            plan, version = read_plan(session, NEXT), trail(session, NEXT).version
        start, end = chance.sample([route for route in plan.routes if route.stops], 2)
        wish = {
            "deed": "move",
            "visit_id": chance.choice(start.stops).visit_id,
            "technician_id": end.technician_id,
            "day": str(end.day),
        }
        began = time.process_time()
        answer = client.post(f"/api/weeks/{NEXT}/edits", json={"version": version, "edits": [wish]})
        taken_s = time.process_time() - began
        assert answer.status_code == 200, answer.text
    return taken_s


if __name__ == "__main__":
    main()
