"""Records as rows and back: nothing is lost, and what was corrected can be read as it was."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from typing import Any

from sqlalchemy import ColumnElement, delete, func, select
from sqlmodel import Session

from dispatch.errors import NotFound
from dispatch.one_offs import DEMAND_PREFIX
from dispatch.records.content import content_of, digest_of_content, record_of
from dispatch.records.history import readings_at
from dispatch.records.record import VisitRecord, mistakes
from dispatch.store.record_tables import ReadingRow, RecordRow, RecordVersionRow
from dispatch.store.tables import (
    VALUES_AT_ONCE,
    SiteRow,
    StopRow,
    TechnicianRow,
    read_among,
    read_row,
    read_rows,
    table_of,
    write_rows,
)
from dispatch.words import _

Columns = Mapping[Any, Any]


@dataclass(frozen=True, slots=True)
class KeptRecord:
    """A record as it stands, the number of its version and what was odd about it."""

    record: VisitRecord
    version: int
    flags: tuple[str, ...]
    received_at: datetime


@dataclass(frozen=True, slots=True)
class RecordVersion:
    """One version of a record: what it said, who wrote it, when and why."""

    version: int
    record: VisitRecord
    digest: str
    changed_at: datetime
    changed_by: str
    reason: str


@dataclass(frozen=True, slots=True)
class Attendance:
    """Who was where from when to when, without the rest of the record; moments are UTC."""

    record_id: str
    site_id: str
    technician_id: str
    day: date
    visit_id: str | None
    arrived_at: datetime | None
    left_at: datetime | None
    skipped: bool
    upkeep_kinds: tuple[str, ...]


def write_records(
    session: Session,
    kept: Sequence[KeptRecord],
    zone: tzinfo,
    *,
    changed_by: str = "",
    reason: str = "",
    now: datetime | None = None,
) -> None:
    """Write records with the versions they have; earlier versions stay.

    `changed_by` is the technician of each where it is empty; `now` is when they were received
    where it is None.
    """
    contents = [content_of(one.record) for one in kept]
    rows = [_record_columns(*one) for one in zip(kept, contents, strict=True)]
    write_rows(session, RecordRow, rows)
    write_rows(
        session,
        RecordVersionRow,
        [
            {
                "record_id": one.record.id,
                "version": one.version,
                "content": content,
                "digest": digest_of_content(content),
                "changed_at": naive(now or one.received_at),
                "changed_by": changed_by or one.record.technician_id,
                "reason": reason,
            }
            for one, content in zip(kept, contents, strict=True)
        ],
    )
    _write_readings(session, kept, zone)


def read_record(session: Session, record_id: str, zone: tzinfo) -> KeptRecord:
    """One record as it stands; raises NotFound when there is none."""
    row = read_row(session, RecordRow, id=record_id)
    if row is not None:
        return _kept(row, zone)
    raise NotFound(
        _(
            "There is no record '{record}'. The list of records shows what has been recorded."
        ).format(record=record_id),
        command="dispatch records list",
    )


def read_records(
    session: Session,
    zone: tzinfo,
    *,
    site_id: str | None = None,
    technician_id: str | None = None,
    first_day: date | None = None,
    last_day: date | None = None,
    newest: int | None = None,
) -> list[KeptRecord]:
    """Records that fulfil all that is given, or so many of the newest; by day, arrival and id."""
    table = table_of(RecordRow)
    where: list[ColumnElement[bool]] = []
    if site_id is not None:
        where.append(table.c.site_id == site_id)
    if technician_id is not None:
        where.append(table.c.technician_id == technician_id)
    where += _within(table.c.day, first_day, last_day)
    newest_first = (table.c.day.desc(), table.c.arrived_at.desc().nulls_last(), table.c.id.desc())
    query = select(table).where(*where).order_by(*newest_first).limit(newest)
    rows = session.execute(query).mappings().all()
    return [_kept(row, zone) for row in reversed(rows)]


def read_some_records(session: Session, ids: Iterable[str], zone: tzinfo) -> list[KeptRecord]:
    """Those of the records named that there are, in no particular order."""
    return [_kept(row, zone) for row in read_among(session, RecordRow, "id", ids)]


def read_versions(session: Session, record_id: str, zone: tzinfo) -> list[RecordVersion]:
    """All versions of a record, the first one first; empty when there is no such record."""
    rows = read_rows(session, RecordVersionRow, table_of(RecordVersionRow).c.record_id == record_id)
    return [
        RecordVersion(
            row["version"],
            record_of(row["content"], zone),
            row["digest"],
            aware(row["changed_at"]),
            row["changed_by"],
            row["reason"],
        )
        for row in rows
    ]


def read_digests(session: Session, record_ids: Iterable[str]) -> dict[str, set[str]]:
    """Digests of all versions of each record, by its id; ids without a record are left out."""
    found: dict[str, set[str]] = {}
    shown = ("record_id", "digest")
    for row in read_among(session, RecordVersionRow, "record_id", record_ids, shown):
        found.setdefault(row["record_id"], set()).add(row["digest"])
    return found


def read_state(session: Session) -> tuple[int, int, str]:
    """What moves whenever a record is taken in or corrected; a few microseconds to compare."""
    table = table_of(RecordRow)
    query = select(func.count(), func.sum(table.c.version), func.max(table.c.received_at))
    count, versions, newest = session.execute(query.select_from(table)).one()
    return count, versions or 0, str(newest)


def read_attendance(
    session: Session, first_day: date | None = None, site_id: str | None = None
) -> list[Attendance]:
    """Who was where, from `first_day` on, by technician, day and arrival; at one site if named.

    A record that was taken back says nothing of where anybody was.
    """
    table = table_of(RecordRow)
    why = table.c.content["skipped"].as_string()
    where = _within(table.c.day, first_day, None)
    where.append(table.c.skipped.is_(False) | why.not_in(mistakes()))
    if site_id is not None:
        where.append(table.c.site_id == site_id)
    query = (
        select(
            table.c.id,
            table.c.site_id,
            table.c.technician_id,
            table.c.day,
            table.c.visit_id,
            table.c.arrived_at,
            table.c.left_at,
            table.c.skipped,
            table.c.upkeep_kinds,
        )
        .where(*where)
        .order_by(table.c.technician_id, table.c.day, table.c.arrived_at.nulls_first(), table.c.id)
    )
    return [
        Attendance(
            row.id,
            row.site_id,
            row.technician_id,
            row.day,
            row.visit_id,
            aware(row.arrived_at) if row.arrived_at else None,
            aware(row.left_at) if row.left_at else None,
            row.skipped,
            tuple(row.upkeep_kinds),
        )
        for row in session.execute(query)
    ]


def read_visit_records(session: Session, visit_ids: Iterable[str]) -> dict[str, str]:
    """Id of a record of each visit that has one, of those that were not taken back."""
    shown, said = ("visit_id", "id", "content"), mistakes()
    rows = read_among(session, RecordRow, "visit_id", visit_ids, shown)
    return {row["visit_id"]: row["id"] for row in rows if row["content"]["skipped"] not in said}


def read_own_records(session: Session, technician_id: str, day: date) -> dict[str, str]:
    """Id of a technician's record of each visit of a day; of work done before one of an attempt."""
    table = table_of(RecordRow)
    query = (
        select(table.c.visit_id, table.c.id)
        .where(table.c.technician_id == technician_id, table.c.day == day)
        .where(table.c.visit_id.is_not(None))
        .order_by(table.c.skipped.desc(), table.c.id)
    )
    return {row.visit_id: row.id for row in session.execute(query)}


def read_last_day(session: Session, site_id: str, before: date) -> date | None:
    """The last day before another of a regular visit to a site, skipped ones aside, or None."""
    table = table_of(RecordRow)
    one_off = func.coalesce(table.c.visit_id, "").startswith(DEMAND_PREFIX, autoescape=True)
    served = (table.c.site_id == site_id) & table.c.skipped.is_(False) & ~one_off
    earlier = table.c.day < before
    day: date | None = session.scalar(select(func.max(table.c.day)).where(served, earlier))
    return day


def read_planned_visits(session: Session, visit_ids: Iterable[str]) -> dict[str, tuple[str, date]]:
    """Technician and day of each visit that stands in a plan."""
    shown = ("visit_id", "technician_id", "day")
    rows = read_among(session, StopRow, "visit_id", visit_ids, shown)
    return {row["visit_id"]: (row["technician_id"], row["day"]) for row in rows}


def read_planned_minutes(session: Session, visit_ids: Iterable[str]) -> dict[str, float]:
    """Minutes of service that a plan has for each visit that stands in one."""
    shown = ("visit_id", "start_s", "leave_s")
    rows = read_among(session, StopRow, "visit_id", visit_ids, shown)
    return {row["visit_id"]: (row["leave_s"] - row["start_s"]) / 60 for row in rows}


def read_known_ids(
    session: Session, site_ids: Iterable[str], technician_ids: Iterable[str]
) -> tuple[set[str], set[str]]:
    """Those of the sites and of the technicians named that the book holds."""
    sites = read_among(session, SiteRow, "id", site_ids, ("id",))
    technicians = read_among(session, TechnicianRow, "id", technician_ids, ("id",))
    return {row["id"] for row in sites}, {row["id"] for row in technicians}


def naive(at: datetime) -> datetime:
    """The moment as a column holds it: UTC without saying so."""
    return at.astimezone(UTC).replace(tzinfo=None)


def aware(at: datetime) -> datetime:
    """A column's moment as the program knows it."""
    return at.replace(tzinfo=UTC)


def _within(
    column: ColumnElement[date], first_day: date | None, last_day: date | None
) -> list[ColumnElement[bool]]:
    where = []
    if first_day is not None:
        where.append(column >= first_day)
    if last_day is not None:
        where.append(column <= last_day)
    return where


def _write_readings(session: Session, kept: Sequence[KeptRecord], zone: tzinfo) -> None:
    table = table_of(ReadingRow)
    corrected = [one.record.id for one in kept if one.version > 1]  # a new one has none yet
    for start in range(0, len(corrected), VALUES_AT_ONCE):
        part = corrected[start : start + VALUES_AT_ONCE]
        session.execute(delete(table).where(table.c.record_id.in_(part)))
    rows = [
        {
            "record_id": record.id,
            "position": position,
            "site_id": point.site_id,
            "kind": str(point.reading.kind),
            "at": naive(point.at),
            "value": point.reading.value,
            "method": point.reading.method,
            "odd": point.reading.odd,
        }
        for record in (one.record for one in kept)
        for position, point in enumerate(readings_at(record, zone))
    ]
    write_rows(session, ReadingRow, rows)


def _record_columns(kept: KeptRecord, content: dict[str, Any]) -> dict[str, Any]:
    record = kept.record
    return {
        "id": record.id,
        "site_id": record.site_id,
        "technician_id": record.technician_id,
        "day": record.day,
        "visit_id": record.visit_id,
        "arrived_at": record.arrived_at and naive(record.arrived_at),
        "left_at": record.left_at and naive(record.left_at),
        "skipped": bool(record.skipped),
        "upkeep_kinds": [one.kind for one in record.upkeep],
        "version": kept.version,
        "content": content,
        "flags": list(kept.flags),
        "received_at": naive(kept.received_at),
    }


def _kept(row: Columns, zone: tzinfo) -> KeptRecord:
    return KeptRecord(
        record_of(row["content"], zone),
        row["version"],
        tuple(row["flags"]),
        aware(row["received_at"]),
    )
