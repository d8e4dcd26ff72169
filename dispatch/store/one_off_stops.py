"""The days on which plans have visits of one-off work, and those on which records tell of one."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from sqlmodel import Session, select

from dispatch.clock import IsoWeek
from dispatch.one_offs import DEMAND_PREFIX, work_id_of
from dispatch.store.record_tables import RecordRow
from dispatch.store.tables import StopRow, table_of


def read_one_off_days(session: Session, but: IsoWeek) -> dict[str, tuple[date, ...]]:
    """By the id of one-off work, days of its visits in the plans of all weeks but one, rising."""
    stops = table_of(StopRow)
    query = select(stops.c.visit_id, stops.c.day).where(
        stops.c.visit_id.startswith(DEMAND_PREFIX, autoescape=True), stops.c.week != str(but)
    )
    found: defaultdict[str, list[date]] = defaultdict(list)
    for visit_id, day in session.execute(query):
        found[work_id_of(visit_id)].append(day)
    return {work_id: tuple(sorted(days)) for work_id, days in sorted(found.items())}


def read_recorded_days(session: Session) -> dict[str, tuple[date, ...]]:
    """By the id of the work, days on which records say that a visit of it was made, rising."""
    records = table_of(RecordRow)
    query = select(records.c.visit_id, records.c.day).where(
        records.c.visit_id.startswith(DEMAND_PREFIX, autoescape=True),
        records.c.skipped.is_(False),
    )
    found: defaultdict[str, set[date]] = defaultdict(set)
    for visit_id, day in session.execute(query):
        found[work_id_of(visit_id)].add(day)
    return {work_id: tuple(sorted(days)) for work_id, days in sorted(found.items())}


def read_ids_used(session: Session) -> set[str]:
    """Ids of one-off work that plans or records name, whether or not the book still has it."""
    columns = (table_of(StopRow).c.visit_id, table_of(RecordRow).c.visit_id)
    return {
        work_id_of(visit_id)
        for column in columns
        for (visit_id,) in session.execute(
            select(column).where(column.startswith(DEMAND_PREFIX, autoescape=True)).distinct()
        )
    }
