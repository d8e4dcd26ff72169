"""The history of sites as records tell it: readings, and the upkeep that was done."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, Select, bindparam, func, select
from sqlmodel import Session

from dispatch.clock import parse_day
from dispatch.one_offs import DEMAND_PREFIX, work_id_of
from dispatch.readings import Finding, Reading, ReadingAt, ReadingKind, UpkeepDone
from dispatch.records.record import ProductAdded
from dispatch.store.record_tables import ReadingRow, RecordRow
from dispatch.store.records import aware
from dispatch.store.tables import table_of
from dispatch.water.products import Product


def read_history(
    session: Session, site_id: str | None = None, kinds: Sequence[ReadingKind] = ()
) -> list[ReadingAt]:
    """Readings of a site (None: of all) in the order they were made; all kinds unless named."""
    table = table_of(ReadingRow)
    where = [] if site_id is None else [table.c.site_id == site_id]
    if kinds:
        where.append(table.c.kind.in_([str(kind) for kind in kinds]))
    query = select(table).where(*where).order_by(table.c.at, table.c.record_id, table.c.position)
    return [_reading_at(row) for row in session.execute(query).mappings()]


def read_last_readings(
    session: Session, kinds: Sequence[ReadingKind] = (), site_ids: Sequence[str] = ()
) -> list[ReadingAt]:
    """The last reading of each site and kind; all kinds and sites unless some are named."""
    query = _last_query(by_kind=bool(kinds), by_site=bool(site_ids))
    wanted = {"kinds": [str(kind) for kind in kinds], "sites": list(site_ids)}
    wanted = {name: values for name, values in wanted.items() if values}
    return [_reading_at(row) for row in session.execute(query, wanted).mappings()]


@cache
def _last_query(*, by_kind: bool, by_site: bool) -> Select[Any]:
    """The statement of `read_last_readings`, which every phone asks; it takes long to make."""
    table = table_of(ReadingRow)
    where = [table.c.kind.in_(bindparam("kinds", expanding=True))] if by_kind else []
    if by_site:
        where.append(table.c.site_id.in_(bindparam("sites", expanding=True)))
    newest = (
        select(table.c.site_id, table.c.kind, func.max(table.c.at).label("newest"))
        .where(*where)
        .group_by(table.c.site_id, table.c.kind)
        .subquery()
    )
    return select(table).join(
        newest,
        (table.c.site_id == newest.c.site_id)
        & (table.c.kind == newest.c.kind)
        & (table.c.at == newest.c.newest),
    )


def read_first_within(
    session: Session, site_id: str, kind: ReadingKind, after: date, limits: tuple[float, float]
) -> tuple[date, float, str] | None:
    """Day, value and technician of the first reading within limits after a day; None if none."""
    readings, records = table_of(ReadingRow), table_of(RecordRow)
    query = (
        select(records.c.day, readings.c.value, records.c.technician_id)
        .join(records, records.c.id == readings.c.record_id)
        .where(
            readings.c.site_id == site_id,
            readings.c.kind == str(kind),
            readings.c.value.between(*limits),
            records.c.day > after,
        )
        .order_by(readings.c.at)
        .limit(1)
    )
    row = session.execute(query).first()
    return None if row is None else (row.day, row.value, row.technician_id)


def read_upkeep_done(
    session: Session, site_id: str | None = None
) -> dict[str, tuple[UpkeepDone, ...]]:
    """Upkeep done at each site, oldest first; that of one site where it is named."""
    table = table_of(RecordRow)
    where: list[ColumnElement[bool]] = [table.c.skipped.is_(False)]
    if site_id is not None:
        where.append(table.c.site_id == site_id)
    query = select(table.c.site_id, table.c.upkeep_kinds, table.c.content["upkeep"]).where(*where)
    found: defaultdict[str, list[UpkeepDone]] = defaultdict(list)
    for owner, kinds, upkeep in session.execute(query).all():
        if kinds:
            found[owner] += [_done_of(one) for one in upkeep]
    return {
        owner: tuple(sorted(done, key=lambda one: (one.on, one.kind)))
        for owner, done in found.items()
    }


@dataclass(frozen=True, slots=True)
class ProductsUsed:
    """What one visit took, without the rest of its record."""

    id: str
    day: date
    skipped: str
    products: tuple[ProductAdded, ...]


def read_products_used(
    session: Session, first_day: date, site_ids: Sequence[str] = (), *, by_jobs: bool = False
) -> dict[str, list[ProductsUsed]]:
    """What regular visits took from `first_day` on, by site, oldest first; no skipped ones.

    One-off work is left out: what brought a green pool back says nothing of the next visit. With
    `by_jobs` it is what visits of one-off work took, by its demand. All sites unless some are
    named.
    """
    wanted: dict[str, Any] = {"first_day": first_day}
    if site_ids:
        wanted["sites"] = list(site_ids)
    query = _products_query(by_site=bool(site_ids), by_jobs=by_jobs)
    found: defaultdict[str, list[ProductsUsed]] = defaultdict(list)
    for record_id, site_id, visit_id, day, products in session.execute(query, wanted).all():
        added = tuple(
            ProductAdded(
                Product(one["product"]), one["amount"], one["unit"], one["strength"], one["name"]
            )
            for one in products
        )
        taker = f"{DEMAND_PREFIX}{work_id_of(visit_id)}" if by_jobs else site_id
        found[taker].append(ProductsUsed(record_id, day, "", added))
    return dict(found)


@cache
def _products_query(*, by_site: bool, by_jobs: bool) -> Select[Any]:
    table = table_of(RecordRow)
    one_off = func.coalesce(table.c.visit_id, "").startswith(DEMAND_PREFIX, autoescape=True)
    wanted = one_off if by_jobs else ~one_off
    where = [table.c.day >= bindparam("first_day"), table.c.skipped.is_(False), wanted]
    if by_site:
        where.append(table.c.site_id.in_(bindparam("sites", expanding=True)))
    shown = (table.c.id, table.c.site_id, table.c.visit_id, table.c.day)
    query = select(*shown, table.c.content["products"])
    return query.where(*where).order_by(table.c.day, table.c.id)


def _done_of(fields: Mapping[str, Any]) -> UpkeepDone:
    finding = fields.get("finding")
    return UpkeepDone(
        fields["kind"],
        parse_day(fields["on"]),
        fields.get("remaining_share"),
        fields.get("note") or "",
        Finding(finding) if finding else None,
    )


def _reading_at(row: Mapping[Any, Any]) -> ReadingAt:
    reading = Reading(ReadingKind(row["kind"]), row["value"], row["method"], row["odd"])
    return ReadingAt(row["site_id"], aware(row["at"]), reading)
