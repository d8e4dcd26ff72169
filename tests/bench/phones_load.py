"""Technicians pulling their day and sending records while two plans are made: how long they wait.

Each phone waits for an answer before its next call (closed loop): it pulls its day, thinks, sends
a done entry with a record, thinks. A technician looks at the phone every few minutes; here the mean
between two calls is five seconds, unless `--think` says otherwise. The pools have records of four
weeks before. Phones and service share the machine, so that its load average stands beside the
figures. At the end every entry that was answered must be in the database once, and every record.

`python -m tests.bench.phones_load --phones 200 --seconds 60`
"""

from __future__ import annotations

import argparse
import asyncio
import os
import random
import subprocess
import sys
import tempfile
import time
import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx2
from sqlalchemy import func, select
from sqlmodel import Session

from api.callers import COOKIE
from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.day_publish import publish_day
from dispatch.actions.maps import build_map
from dispatch.actions.plan_week import plan_week
from dispatch.people import Person, Role
from dispatch.records.content import record_of
from dispatch.store.phone_tables import PhoneEntryRow
from dispatch.store.record_tables import RecordRow
from dispatch.store.records import KeptRecord, write_records
from dispatch.store.tables import table_of
from tests.grid_town import write_grid
from tests.signed_in import FROM_HERE, OWNER, session_of
from tests.town import Company, end_of, open_company

SIDE = 40  # streets each way
STOPS = 8  # of each technician on the day
PATIENCE_S = 15  # of a phone, as in `pull.ts`
THINK_S = 5.0  # mean seconds between two calls of a phone
WEEKS_BEFORE = 4  # of records at each pool
ROOT = Path(__file__).parents[2]
FIRST = datetime(2026, 11, 30, 16, tzinfo=UTC)
DAY = FIRST.date()


@dataclass(frozen=True)
class Phones:
    """Who calls, by technician with the secret of his session; for how long, and how often."""

    secrets: dict[str, str]
    seconds: float
    think_s: float


@dataclass
class Tally:
    """What the phones saw."""

    waits_s: dict[str, list[float]] = field(default_factory=lambda: {"day": [], "entry": []})
    errors: list[str] = field(default_factory=list)
    entries: set[str] = field(default_factory=set)  # answered as taken
    records: int = 0
    cpu_s: float = 0.0  # of the service, without the plans


def main() -> None:
    """Make the company, run the phones, print the figures."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--phones", type=int, default=200)
    words.add_argument("--seconds", type=float, default=60)
    words.add_argument("--plans", type=int, default=2)
    words.add_argument("--think", type=float, default=THINK_S)
    given = words.parse_args()
    with tempfile.TemporaryDirectory() as place:
        company = make_company(Path(place), given.phones)
        names = {f"T{n:03}": secret for n, secret in enumerate(_secrets(company, given.phones))}
        owner = session_of(company.engine, company.settings, OWNER)
        process, address = _serve(company)
        try:
            phones = Phones(names, given.seconds, given.think)
            tally = asyncio.run(_all(address, process.pid, phones, owner, given.plans))
            load = os.getloadavg()[0]
        finally:
            process.terminate()
            process.wait(60)
        _report(company, tally, given.seconds, given.phones * STOPS * WEEKS_BEFORE)
        print(f"load average of the last minute {load:.1f} on {os.cpu_count()} cores")


def make_company(folder: Path, phones: int) -> Company:
    """A company with a published day of so many technicians, each with eight pools."""
    company = open_company(folder, fixed_today=DAY)
    build_map(company.settings, write_grid(folder / "grid.osm", SIDE))
    chance = random.Random(1)
    places = [(chance.randrange(SIDE - 1) + 0.5, chance.randrange(SIDE - 1)) for _ in range(phones)]
    technicians = ["id,name,start_lat,start_lon,mon,tue,wed,thu,fri"]
    sites = [
        "id,name,lat,lon,rhythm,service_min,allowed_weekdays,usual_technician,usual_weekday,"
        "last_visit_on"
    ]
    for n, (lat, lon) in enumerate(places):
        shift = ",".join(["07:00-15:30"] * 5)
        technicians.append(f"T{n:03},Invented {n},{lat / 1000:.4f},{lon / 1000:.4f},{shift}")
        for k in range(STOPS):
            row, column = (lat + k) % (SIDE - 1), lon
            sites.append(
                f"S{n:03}-{k},Invented {n}-{k},{row / 1000:.4f},{column / 1000:.4f},weekly,25,"
                f"Mon,T{n:03},Mon,2026-11-23"
            )
    with company.writing() as session:
        import_technicians(session, company.settings, "\n".join(technicians))
        import_sites(session, company.settings, "\n".join(sites))
    week = _week()
    plan_week(company.engine, company.settings, week, today=DAY, iterations=300)
    with company.writing() as session:
        publish_day(session, company.settings, DAY, who="Invented Owner", at=FIRST)
        _write_history(session, company, phones)
    return company


def _write_history(session: Session, company: Company, phones: int) -> None:
    """Records of the weeks before, as four more weeks of work leave them."""
    records = [
        record_of(
            {
                "id": str(uuid.UUID(int=(n * STOPS + k) * WEEKS_BEFORE + week)),
                "site_id": f"S{n:03}-{k}",
                "technician_id": f"T{n:03}",
                "day": (DAY - timedelta(weeks=week + 1)).isoformat(),
                "readings": [{"kind": "ph", "value": 7.4}, {"kind": "free-chlorine", "value": 3}],
                "products": [{"product": "trichlor", "amount": 0.6, "unit": "kg"}],
            },
            company.settings.zone,
        )
        for n in range(phones)
        for k in range(STOPS)
        for week in range(WEEKS_BEFORE)
    ]
    kept = [KeptRecord(one, 1, (), FIRST) for one in records]
    write_records(session, kept, company.settings.zone)


def _week() -> Any:
    from dispatch.clock import IsoWeek

    return IsoWeek.of(DAY)


def _secrets(company: Company, phones: int) -> list[str]:
    people = [
        Person(f"p{n:03}", f"Invented {n}", Role.TECHNICIAN, f"T{n:03}") for n in range(phones)
    ]
    return [session_of(company.engine, company.settings, one) for one in people]


def _serve(company: Company) -> tuple[subprocess.Popen[str], str]:
    from dispatch.cli.serve import free_port

    port = free_port("127.0.0.1", 18_000)
    env = os.environ | {
        "DISPATCH_DATA_DIR": str(company.settings.data_dir),
        "DISPATCH_COUNTRY": "",
        "DISPATCH_FIXED_TODAY": end_of(DAY).isoformat(),
        "DISPATCH_JOBS_AT_ONCE": "2",
        "DISPATCH_SEARCH_RUNS": "1",
    }
    words = [sys.executable, "-c", "from dispatch.cli import main; main()", "serve"]
    process = subprocess.Popen(  # noqa: S603 - our own words
        [*words, "--port", str(port)], env=env, cwd=ROOT, stdout=subprocess.DEVNULL, text=True
    )
    return process, f"http://127.0.0.1:{port}"


async def _all(address: str, service: int, phones: Phones, owner: str, plans: int) -> Tally:
    tally = Tally()
    limits = httpx2.Limits(max_connections=len(phones.secrets) + 10)
    async with httpx2.AsyncClient(
        base_url=address, headers=FROM_HERE, limits=limits, timeout=PATIENCE_S
    ) as client:
        await _until_ready(client)
        await _start_plans(client, owner, plans)
        end = time.monotonic() + phones.seconds
        calls = [_phone(client, name, phones, end, tally) for name in phones.secrets]
        began_s = _cpu_s(service)
        await asyncio.gather(*calls)
        tally.cpu_s = _cpu_s(service) - began_s
    return tally


def _cpu_s(process: int) -> float:
    """Processor time that a process has used; 0 where there is no /proc."""
    stat = Path(f"/proc/{process}/stat")
    if not stat.exists():
        return 0.0
    fields = stat.read_text().rpartition(")")[2].split()  # manual page proc_pid_stat(5)
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


async def _until_ready(client: httpx2.AsyncClient) -> None:
    for _ in range(600):
        try:
            if (await client.get("/readyz")).status_code == 200:
                return
        except httpx2.TransportError:
            pass
        await asyncio.sleep(0.1)
    raise AssertionError("the service did not start")


async def _start_plans(client: httpx2.AsyncClient, owner: str, plans: int) -> None:
    week = _week()
    cookie = {"Cookie": f"{COOKIE}={owner}"}
    for _ in range(plans):
        week = week.next
        wish = {"iterations": 100_000_000}
        answer = await client.post(f"/api/weeks/{week}/plan", json=wish, headers=cookie)
        assert answer.status_code == 202, answer.text
    for _ in range(600):
        jobs = (await client.get("/api/jobs", headers=cookie)).json()
        if sum(bool(job["progress"]) for job in jobs) == plans:
            return
        await asyncio.sleep(0.2)
    raise AssertionError("the plans did not begin")


async def _phone(
    client: httpx2.AsyncClient, name: str, phones: Phones, end: float, tally: Tally
) -> None:
    chance, pace = random.Random(name), 1 / phones.think_s
    cookie = {"Cookie": f"{COOKIE}={phones.secrets[name]}"}
    phone, number, tag = str(uuid.uuid4()), 0, ""
    todo: list[dict[str, Any]] = []
    await asyncio.sleep(chance.uniform(0, 2 * phones.think_s))
    while time.monotonic() < end:
        asked = cookie | ({"If-None-Match": tag} if tag else {})
        answer = await _timed(
            client.get(f"/api/phone/days/{name}/{DAY}", headers=asked), "day", tally
        )
        if answer is not None and answer.status_code == 200:
            tag = answer.headers.get("etag", "")
            open_stops = [one for one in answer.json()["stops"] if one["state"] == "planned"]
            todo = open_stops or todo
        await asyncio.sleep(chance.expovariate(pace))
        if todo and time.monotonic() < end:
            number += 1
            entry = _entry(name, number, todo[0])
            sent = {"phone": phone, "sent_at": _now(), "entries": [entry]}
            call = client.post("/api/phone/entries", json=sent, headers=cookie)
            answer = await _timed(call, "entry", tally)
            if answer is not None and answer.status_code == 200:
                (told,) = answer.json()["entries"]
                if told["outcome"] == "taken":
                    tally.entries.add(entry["id"])
                    tally.records += entry["kind"] == "done"
                else:
                    tally.errors.append(f"entry {told['outcome']}: {told['words']}"[:200])
                todo.pop(0)
        await asyncio.sleep(chance.expovariate(pace))


def _entry(name: str, number: int, stop: dict[str, Any]) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "id": str(uuid.uuid4()),
        "number": number,
        "technician_id": name,
        "day": DAY.isoformat(),
        "kind": "done",
        "at": "2026-11-30T16:05:00Z",
        "visit_id": stop["visit_id"],
        "site_id": stop["site_id"],
    }
    entry["record"] = {
        "id": str(uuid.uuid4()),
        "site_id": stop["site_id"],
        "technician_id": name,
        "day": DAY.isoformat(),
        "visit_id": stop["visit_id"],
        "readings": [{"kind": "ph", "value": 7.5}],
    }
    return entry


async def _timed(call: Any, kind: str, tally: Tally) -> httpx2.Response | None:
    began = time.perf_counter()
    try:
        answer: httpx2.Response = await call
    except httpx2.TransportError as error:
        tally.errors.append(f"{kind}: {error!r}")
        return None
    tally.waits_s[kind].append(time.perf_counter() - began)
    if answer.status_code >= 400:
        tally.errors.append(f"{kind}: {answer.status_code} {answer.text[:200]}")
    return answer


def _now() -> str:
    return "2026-11-30T16:06:00Z"


def _report(company: Company, tally: Tally, seconds: float, before: int) -> None:
    for kind, waits in tally.waits_s.items():
        ordered = sorted(waits) or [0.0]
        at = (1000 * ordered[int(share * (len(ordered) - 1))] for share in (0.5, 0.95, 0.99, 1))
        print(f"{kind:6} {len(waits):6} calls, {len(waits) / seconds:5.1f} a second,", end=" ")
        print("p50 {:.1f} ms, p95 {:.1f} ms, p99 {:.1f} ms, longest {:.0f} ms".format(*at))
    entries, records = table_of(PhoneEntryRow), table_of(RecordRow)
    with company.reading() as session:
        kept = set(session.scalars(select(entries.c.id)))
        count = session.scalar(select(func.count()).select_from(records)) or 0
    print(f"{len(tally.errors)} errors, {len(tally.entries - kept)} entries lost,", end=" ")
    print(f"{tally.records} records answered, {count - before} kept")
    calls = sum(map(len, tally.waits_s.values())) or 1
    print(f"{1000 * tally.cpu_s / calls:.1f} ms of processor time a call,", end=" ")
    print(f"{tally.cpu_s / seconds:.2f} cores")
    for words in sorted(set(tally.errors))[:5]:
        print("  ", words)


if __name__ == "__main__":
    main()
