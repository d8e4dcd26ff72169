"""Days as rows and back: revisions of routes, and the history; both are only ever added to."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, fields
from datetime import UTC, date, datetime
from functools import cache
from typing import Any, cast
from weakref import WeakKeyDictionary

from sqlalchemy import ColumnElement, Pool, Select, bindparam, func, insert, or_, select
from sqlmodel import Session

from dispatch.day.events import DayEvent, EventKind
from dispatch.day.work import Revision, Work
from dispatch.planning.plan import Route, Stop
from dispatch.store.day_tables import DayEventRow, DayRevisionRow
from dispatch.store.tables import read_among, read_rows, table_of
from dispatch.windows import TimeWindow

Columns = Mapping[str, Any]
ROUTE_COLUMNS = tuple(one.name for one in fields(Route) if one.name not in ("stops", "day"))
DAYS_KEPT = 20
ADDED = "revisions_added"  # of a session: it sees revisions that may never be committed
# Revisions are only ever added, so that the same number of them with the same last number are the
# same ones; a day of 200 routes takes a tenth of a second to read (measured), for every phone.
_kept: WeakKeyDictionary[Pool, dict[date, tuple[tuple[int, int], list[Revision]]]] = (
    WeakKeyDictionary()
)


def add_day_events(session: Session, events: Sequence[DayEvent]) -> list[DayEvent]:
    """Write new events of one day, in this order; they come back with their numbers."""
    if not events:
        return []
    first = day_version(session, events[0].day) + 1
    numbered = [_numbered(event, first + n) for n, event in enumerate(events)]
    session.execute(insert(table_of(DayEventRow)), [_event_columns(one) for one in numbered])
    return numbered


def add_revisions(session: Session, revisions: Sequence[Revision]) -> None:
    """Write revisions of routes."""
    if revisions:
        rows = [_revision_columns(one) for one in revisions]
        session.info[ADDED] = True
        session.execute(insert(table_of(DayRevisionRow)), rows)


def day_version(session: Session, day: date) -> int:
    """Number of the last event of a day, 0 without any."""
    return int(session.execute(_version_query(), {"day": day}).scalar() or 0)


def read_day_events(
    session: Session, day: date, *, after: int = 0, up_to: int | None = None
) -> list[DayEvent]:
    """Events of a day in their order, those after number `after` and up to `up_to` alone."""
    table = table_of(DayEventRow)
    conditions = [table.c.day == day, table.c.number > after]
    if up_to is not None:
        conditions.append(table.c.number <= up_to)
    return [_event_of(row) for row in read_rows(session, DayEventRow, *conditions)]


def read_events_of(
    session: Session, day: date, technician_ids: Collection[str], visit_ids: Collection[str]
) -> list[DayEvent]:
    """Events of a day that have to do with these technicians or visits, and every repair."""
    whose = {"technicians": sorted(technician_ids), "visits": sorted(visit_ids)}
    rows = session.execute(_concerned_query(), {"day": day, **whose}).mappings().all()
    return [_event_of(cast("Columns", row)) for row in rows]


def read_known_events(session: Session, ids: Collection[str]) -> dict[str, DayEvent]:
    """Those of the events with these ids that are kept already, of whatever day."""
    rows = read_among(session, DayEventRow, "id", sorted(ids))
    return {row["id"]: _event_of(row) for row in rows}


def read_revisions(session: Session, day: date, technician_id: str | None = None) -> list[Revision]:
    """Every revision of a day's routes, or of one technician's, earliest first."""
    table = table_of(DayRevisionRow)
    if technician_id is not None:
        return _read_revisions(session, table.c.day == day, table.c.technician_id == technician_id)
    how_many, last = session.execute(_count_query(), {"day": day}).one()
    state = (int(how_many), int(last or 0))
    kept = _kept.setdefault(session.get_bind().pool, {})  # type: ignore[union-attr]
    known = kept.get(day)
    if known is not None and known[0] == state:
        return list(known[1])
    found = _read_revisions(session, table.c.day == day)
    if ADDED not in session.info:
        if len(kept) >= DAYS_KEPT:
            kept.clear()
        kept[day] = (state, found)
    return list(found)


def read_revisions_since(
    session: Session, technician_id: str, since: date
) -> list[tuple[Revision, datetime]]:
    """Revisions of a technician's routes of a day and later, and when the service learnt of each.

    Earliest day first, and of a day the earliest revision.
    """
    routes, events = table_of(DayRevisionRow), table_of(DayEventRow)
    of_event = (events.c.day == routes.c.day) & (events.c.number == routes.c.number)
    query = (
        select(routes, events.c.received_at)
        .join(events, of_event)
        .where(routes.c.technician_id == technician_id, routes.c.day >= since)
        .order_by(routes.c.day, routes.c.number)
    )
    rows = session.execute(query).mappings().all()
    return [
        (_revision_of(cast("Columns", row)), row["received_at"].replace(tzinfo=UTC)) for row in rows
    ]


# Statements asked for every call of a phone are made once: making one takes longer than running it.
@cache
def _version_query() -> Select[Any]:
    table = table_of(DayEventRow)
    of_day = select(table.c.number).where(table.c.day == bindparam("day"))
    return of_day.order_by(table.c.number.desc()).limit(1)


@cache
def _count_query() -> Select[int, Any]:
    table = table_of(DayRevisionRow)
    count = select(func.count(), func.max(table.c.number))
    return count.where(table.c.day == bindparam("day"))


@cache
def _concerned_query() -> Select[Any]:
    table = table_of(DayEventRow)
    concerned = or_(
        table.c.technician_id.in_(bindparam("technicians", expanding=True)),
        table.c.visit_id.in_(bindparam("visits", expanding=True)),
        table.c.kind == str(EventKind.REPAIRED),
    )
    query = select(table).where(table.c.day == bindparam("day"), concerned)
    return query.order_by(*table.primary_key)


def _read_revisions(session: Session, *conditions: ColumnElement[bool]) -> list[Revision]:
    found = [_revision_of(row) for row in read_rows(session, DayRevisionRow, *conditions)]
    return sorted(found, key=lambda one: (one.number, one.technician_id))


def read_published_days(session: Session) -> list[date]:
    """The days of which a route was published, earliest first."""
    table = table_of(DayRevisionRow)
    query = select(table.c.day).distinct().order_by(table.c.day)
    return [row[0] for row in session.execute(query).all()]


def read_published_routes(session: Session, days: Collection[date]) -> frozenset[tuple[str, date]]:
    """Technicians and days, of these days, whose routes have been published."""
    table = table_of(DayRevisionRow)
    query = select(table.c.technician_id, table.c.day).where(table.c.day.in_(days)).distinct()
    return frozenset((row[0], row[1]) for row in session.execute(query).all())


def _numbered(event: DayEvent, number: int) -> DayEvent:
    return _event_of(_event_columns(event) | {"number": number})


def _event_columns(event: DayEvent) -> dict[str, Any]:
    return {
        "day": event.day,
        "number": event.number,
        "id": event.id,
        "kind": str(event.kind),
        "at": _naive(event.at),
        "received_at": _naive(event.received_at),
        "who": event.who,
        "technician_id": event.technician_id,
        "visit_id": event.visit_id,
        "why": event.why,
        "data": dict(event.data),
    }


def _event_of(row: Columns) -> DayEvent:
    return DayEvent(
        id=row["id"],
        day=row["day"],
        kind=EventKind(row["kind"]),
        at=row["at"].replace(tzinfo=UTC),
        received_at=row["received_at"].replace(tzinfo=UTC),
        who=row["who"],
        technician_id=row["technician_id"],
        visit_id=row["visit_id"],
        why=row["why"],
        data=row["data"],
        number=row["number"],
    )


def _naive(at: datetime) -> datetime:
    return at.astimezone(UTC).replace(tzinfo=None)


def _revision_columns(one: Revision) -> dict[str, Any]:
    stops = [asdict(stop) | {"upkeep_ids": list(stop.upkeep_ids)} for stop in one.route.stops]
    return {
        "day": one.route.day,
        "technician_id": one.technician_id,
        "revision": one.revision,
        "number": one.number,
        "route": {name: getattr(one.route, name) for name in ROUTE_COLUMNS} | {"stops": stops},
        "works": [_work_dict(work) for work in one.works],
    }


def _revision_of(row: Columns) -> Revision:
    route = row["route"]
    stops = tuple(
        Stop(**stop | {"upkeep_ids": tuple(stop["upkeep_ids"])}) for stop in route["stops"]
    )
    columns = {name: route[name] for name in ROUTE_COLUMNS}
    return Revision(
        revision=row["revision"],
        number=row["number"],
        route=Route(day=row["day"], stops=stops, **columns),
        works=tuple(_work_of(one) for one in row["works"]),
    )


def _work_dict(work: Work) -> dict[str, Any]:
    return {
        **asdict(work),
        "windows": [list(one.pair) for one in work.windows],
        "skills": sorted(work.skills),
        "unwanted_technician_ids": sorted(work.unwanted_technician_ids),
        "days": [one.isoformat() for one in work.days],
        "upkeep_ids": list(work.upkeep_ids),
    }


def _work_of(columns: Columns) -> Work:
    return Work(
        **{
            **columns,
            "windows": tuple(TimeWindow(*one) for one in columns["windows"]),
            "skills": frozenset(columns["skills"]),
            "unwanted_technician_ids": frozenset(columns["unwanted_technician_ids"]),
            "days": tuple(date.fromisoformat(one) for one in columns["days"]),
            "upkeep_ids": tuple(columns["upkeep_ids"]),
        }
    )
