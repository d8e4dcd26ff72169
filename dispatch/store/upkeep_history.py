"""What was read and done at the sites, as far as it may bring upkeep about."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, date

from sqlalchemy import ColumnElement, String, cast, select
from sqlmodel import Session

from dispatch.readings import ReadingKind, UpkeepDone
from dispatch.store.record_tables import ReadingRow, RecordRow
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

PUT_IN = {  # the column of the register that says when the part in use was put in
    "sand-change": "media_changed_on",
    "cartridge-change": "media_changed_on",
    "de-change": "media_changed_on",
    "anode-swap": "anode_installed_on",
    "cell-replacement": "cell_installed_on",
}


def read_histories(
    session: Session, since: date, until: date, site_id: str | None = None
) -> dict[str, History]:
    """History of each site that has one, by site id; of one site where it is named.

    A reading is of the day of its record, and so of the day on which the upkeep of that record was
    done: after the midnight of a night shift as well, and where a phone's clock was wrong.

    Parameters
    ----------
    since, until
        First and last day of the readings; upkeep done is read from the beginning.
    """
    points = _points(session, since, until, site_id)
    done = read_upkeep_done(session, site_id)
    return {
        site: History(
            {kind: tuple(found) for kind, found in points[site].items()},
            tuple(done.get(site, ())),
        )
        for site in sorted(points.keys() | done.keys())
    }


def read_upkeep_done(session: Session, site_id: str | None = None) -> dict[str, list[UpkeepDone]]:
    """Upkeep done by site id, oldest first; its kind and day alone."""
    table = table_of(RecordRow)
    query = (
        select(table.c.site_id, table.c.day, table.c.upkeep_kinds)
        .where(*_at(table.c.site_id, site_id))
        .order_by(table.c.day, table.c.id)
    )
    found: dict[str, list[UpkeepDone]] = defaultdict(list)
    for site, day, kinds in session.execute(query).all():
        found[site] += [UpkeepDone(kind, day) for kind in kinds]
    return {site: deeds for site, deeds in found.items() if deeds}


def read_changed_before(session: Session) -> dict[tuple[str, str], list[date]]:
    """When a part was put in that a recorded change took out, by site and kind of the change.

    The register says so before the first record of one, and forgets it with that record.
    """
    table = table_of(RecordRow)
    query = select(table.c.site_id, table.c.upkeep_kinds, table.c.moved).where(
        table.c.moved.is_not(None), cast(table.c.upkeep_kinds, String).contains('"')
    )
    found: dict[tuple[str, str], list[date]] = defaultdict(list)
    for site, kinds, moved in session.execute(query):
        for kind in PUT_IN.keys() & kinds:
            before, after = (moved or {}).get(PUT_IN[kind], (None, None))
            if before and before != after:
                found[site, kind].append(date.fromisoformat(before))
    return dict(found)


def _points(
    session: Session, since: date, until: date, site_id: str | None
) -> dict[str, dict[ReadingKind, list[Point]]]:
    readings, records = table_of(ReadingRow), table_of(RecordRow)
    query = (
        select(readings.c.site_id, readings.c.kind, records.c.day, readings.c.at, readings.c.value)
        .join(records, records.c.id == readings.c.record_id)
        .where(
            records.c.day.between(since, until),
            readings.c.kind.in_([str(kind) for kind in KINDS]),
            *_at(readings.c.site_id, site_id),
        )
        .order_by(
            readings.c.site_id,
            readings.c.kind,
            records.c.day,
            readings.c.at,
            readings.c.record_id,
            readings.c.position,
        )
    )
    found: dict[str, dict[ReadingKind, list[Point]]] = defaultdict(lambda: defaultdict(list))
    kinds = {str(kind): kind for kind in KINDS}
    for site, kind, day, at, value in session.execute(query).all():
        found[site][kinds[kind]].append(Point(day, at.replace(tzinfo=UTC), value))
    return found


def _at(column: ColumnElement[str], site_id: str | None) -> list[ColumnElement[bool]]:
    return [] if site_id is None else [column == site_id]
