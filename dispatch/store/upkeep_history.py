"""What was read and done at the sites, as far as it may bring upkeep about."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date, datetime, time, tzinfo

from sqlalchemy import select
from sqlmodel import Session

from dispatch.readings import ReadingKind, UpkeepDone
from dispatch.store.record_tables import ReadingRow, RecordRow
from dispatch.store.records import naive
from dispatch.store.tables import table_of
from dispatch.upkeep_conditions import History, Point

KINDS = (
    ReadingKind.FILTER_PRESSURE,
    ReadingKind.PUMP_SPEED,
    ReadingKind.CELL_CURRENT,
    ReadingKind.SALT,
    ReadingKind.WATER_TEMPERATURE,
    ReadingKind.FLOW,
    ReadingKind.ANODE_REMAINING,
)


def read_histories(session: Session, zone: tzinfo, since: date, until: date) -> dict[str, History]:
    """History of each site that has one, by site id.

    Parameters
    ----------
    zone
        Time zone that says on which day a reading was taken.
    since, until
        First and last day of the readings; upkeep done is read from the beginning.
    """
    points = _points(session, zone, since, until)
    done = read_upkeep_done(session)
    return {
        site_id: History(
            {kind: tuple(found) for kind, found in points[site_id].items()},
            tuple(done.get(site_id, ())),
        )
        for site_id in sorted(points.keys() | done.keys())
    }


def read_upkeep_done(session: Session) -> dict[str, list[UpkeepDone]]:
    """Upkeep done by site id, oldest first; its kind and day alone."""
    table = table_of(RecordRow)
    query = select(table.c.site_id, table.c.day, table.c.upkeep_kinds).order_by(
        table.c.day, table.c.id
    )
    found: dict[str, list[UpkeepDone]] = defaultdict(list)
    for site_id, day, kinds in session.execute(query):
        found[site_id] += [UpkeepDone(kind, day) for kind in kinds]
    return {site_id: deeds for site_id, deeds in found.items() if deeds}


def _points(
    session: Session, zone: tzinfo, since: date, until: date
) -> dict[str, dict[ReadingKind, list[Point]]]:
    table = table_of(ReadingRow)
    first = naive(datetime.combine(since, time.min, zone))
    last = naive(datetime.combine(until, time.max, zone))
    query = (
        select(table.c.site_id, table.c.kind, table.c.at, table.c.value)
        .where(table.c.at.between(first, last), table.c.kind.in_([str(kind) for kind in KINDS]))
        .order_by(table.c.site_id, table.c.kind, table.c.at, table.c.position)
    )
    found: dict[str, dict[ReadingKind, list[Point]]] = defaultdict(lambda: defaultdict(list))
    kinds = {str(kind): kind for kind in KINDS}
    for site_id, kind, at, value in session.execute(query):
        moment = at.replace(tzinfo=UTC)
        found[site_id][kinds[kind]].append(Point(moment.astimezone(zone).date(), moment, value))
    return found
