"""What stands beside the records: what was set aside, photos, follow-ups, water targets."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, delete, select
from sqlmodel import Session

from dispatch.errors import NotFound
from dispatch.readings import ReadingKind
from dispatch.records.follow_ups import FollowUp, FollowUpKind
from dispatch.records.photos import Photo
from dispatch.store.record_tables import AsideRow, FollowUpRow, PhotoRow, WaterTargetRow
from dispatch.store.records import aware, naive
from dispatch.store.tables import (
    VALUES_AT_ONCE,
    read_among,
    read_row,
    read_rows,
    table_of,
    write_rows,
)
from dispatch.water.ranges import DEFAULT_TARGETS, Range
from dispatch.words import _

Columns = Mapping[Any, Any]


@dataclass(frozen=True, slots=True)
class Aside:
    """What was sent and could not be kept, word for word; open while `settled_at` is None."""

    id: str
    record_id: str
    content: Any
    code: str
    reason: str
    received_at: datetime
    settled_at: datetime | None = None
    settled_by: str = ""
    outcome: str = ""


def aside_id(content: object) -> str:
    """The name of something set aside: the same content has the same one."""
    text = json.dumps(content, sort_keys=True, default=str, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def write_aside(session: Session, aside: Aside) -> None:
    """Set something aside, or settle it; the same content stands there once."""
    columns = {
        "id": aside.id,
        "record_id": aside.record_id[:200],
        "content": aside.content,
        "code": aside.code,
        "reason": aside.reason[:4000],
        "received_at": naive(aside.received_at),
        "settled_at": aside.settled_at and naive(aside.settled_at),
        "settled_by": aside.settled_by,
        "outcome": aside.outcome,
    }
    write_rows(session, AsideRow, [columns])


def read_asides(session: Session, *, all_of_them: bool = False) -> list[Aside]:
    """What is set aside and not settled, newest first; settled ones too where wanted."""
    table = table_of(AsideRow)
    where = () if all_of_them else (table.c.settled_at.is_(None),)
    query = select(table).where(*where).order_by(table.c.received_at.desc(), table.c.id)
    return [_aside_of(row) for row in session.execute(query).mappings()]


def read_aside(session: Session, aside: str) -> Aside:
    """One thing set aside; raises NotFound when there is none of that id."""
    row = read_row(session, AsideRow, id=aside)
    if row is not None:
        return _aside_of(row)
    raise NotFound(
        _("Nothing is set aside as '{aside}'. The list of what is set aside shows the ids.").format(
            aside=aside
        ),
        command="dispatch records aside",
    )


def write_photo(session: Session, photo: Photo, now: datetime) -> None:
    """Note a photo whose bytes have been kept."""
    columns = {
        "id": photo.id,
        "media_type": photo.media_type,
        "size_b": photo.size_b,
        "received_at": naive(now),
    }
    write_rows(session, PhotoRow, [columns])


def read_photo(session: Session, photo_id: str) -> Photo:
    """One photo; raises NotFound when it was not received."""
    row = read_row(session, PhotoRow, id=photo_id)
    if row is not None:
        return Photo(row["id"], row["media_type"], row["size_b"])
    raise NotFound(
        _("There is no photo '{photo}': it has not been received yet.").format(photo=photo_id[:64])
    )


def read_photo_ids(session: Session, among: Iterable[str]) -> set[str]:
    """Those of `among` that have been received."""
    return {row["id"] for row in read_among(session, PhotoRow, "id", among, ("id",))}


def write_follow_ups(session: Session, record_ids: Sequence[str], asked: list[FollowUp]) -> None:
    """Write what the records ask for; open follow-ups they no longer ask for are taken out."""
    table = table_of(FollowUpRow)
    known = read_among(session, FollowUpRow, "record_id", record_ids, ("id", "settled_on"))
    settled = {row["id"] for row in known if row["settled_on"] is not None}
    still_open = [row["id"] for row in known if row["settled_on"] is None]
    for start in range(0, len(still_open), VALUES_AT_ONCE):
        part = still_open[start : start + VALUES_AT_ONCE]
        session.execute(delete(table).where(table.c.id.in_(part)))
    new = [one for one in asked if one.id not in settled]
    write_rows(session, FollowUpRow, [_follow_up_columns(one) for one in new])


def write_follow_up(session: Session, changed: FollowUp) -> None:
    """Write a follow-up that has been settled, or is open again."""
    write_rows(session, FollowUpRow, [_follow_up_columns(changed)])


def read_follow_ups(
    session: Session,
    *,
    all_of_them: bool = False,
    site_id: str | None = None,
) -> list[FollowUp]:
    """Open follow-ups, urgent ones first, then by day; settled ones too where wanted."""
    table = table_of(FollowUpRow)
    where: list[ColumnElement[bool]] = []
    if not all_of_them:
        where.append(table.c.settled_on.is_(None))
    if site_id is not None:
        where.append(table.c.site_id == site_id)
    query = select(table).where(*where)
    query = query.order_by(table.c.urgent.desc(), table.c.due_on, table.c.id)
    return [_follow_up_of(row) for row in session.execute(query).mappings()]


def read_open_at(session: Session, site_ids: Iterable[str]) -> list[FollowUp]:
    """Open follow-ups at these sites, by id."""
    rows = read_among(session, FollowUpRow, "site_id", site_ids)
    return [_follow_up_of(row) for row in rows if row["settled_on"] is None]


def read_follow_up(session: Session, follow_up_id: str) -> FollowUp:
    """One follow-up; raises NotFound when there is none."""
    row = read_row(session, FollowUpRow, id=follow_up_id)
    if row is not None:
        return _follow_up_of(row)
    raise NotFound(
        _("There is no follow-up '{follow_up}'. The list of follow-ups shows what is open.").format(
            follow_up=follow_up_id
        ),
        command="dispatch follow-ups list",
    )


def read_targets(session: Session) -> dict[ReadingKind, Range]:
    """The company's ranges: its own where it set one, else those delivered."""
    own = {ReadingKind(row["kind"]): _range_of(row) for row in read_rows(session, WaterTargetRow)}
    return {**DEFAULT_TARGETS, **own}


def write_target(session: Session, target: Range, changed_by: str, changed_on: date) -> None:
    """Set the company's own range of one reading."""
    columns = {
        "kind": str(target.kind),
        "least": target.least,
        "ideal_low": target.ideal_low,
        "ideal_high": target.ideal_high,
        "most": target.most,
        "changed_by": changed_by,
        "changed_on": changed_on,
        "note": target.note,
    }
    write_rows(session, WaterTargetRow, [columns])


def drop_target(session: Session, kind: ReadingKind) -> None:
    """Go back to the range that was delivered."""
    table = table_of(WaterTargetRow)
    session.execute(delete(table).where(table.c.kind == str(kind)))


def _aside_of(row: Columns) -> Aside:
    return Aside(
        row["id"],
        row["record_id"],
        row["content"],
        row["code"],
        row["reason"],
        aware(row["received_at"]),
        row["settled_at"] and aware(row["settled_at"]),
        row["settled_by"],
        row["outcome"],
    )


def _follow_up_columns(one: FollowUp) -> dict[str, Any]:
    return {
        "id": one.id,
        "record_id": one.record_id,
        "site_id": one.site_id,
        "kind": str(one.kind),
        "due_on": one.due_on,
        "urgent": one.urgent,
        "reason": one.reason,
        "minutes": one.minutes,
        "noted_on": one.noted_on,
        "about": one.about and str(one.about),
        "settled_on": one.settled_on,
        "settled_by": one.settled_by,
        "outcome": one.outcome,
    }


def _follow_up_of(row: Columns) -> FollowUp:
    return FollowUp(
        row["id"],
        row["record_id"],
        row["site_id"],
        FollowUpKind(row["kind"]),
        row["due_on"],
        row["urgent"],
        row["reason"],
        row["minutes"],
        row["noted_on"],
        row["about"] and ReadingKind(row["about"]),
        row["settled_on"],
        row["settled_by"],
        row["outcome"],
    )


def _range_of(row: Columns) -> Range:
    return Range(
        ReadingKind(row["kind"]),
        row["least"],
        row["ideal_low"],
        row["ideal_high"],
        row["most"],
        _("own target, set by {changed_by}").format(changed_by=row["changed_by"]),
        row["changed_on"].isoformat(),
        note=row["note"],
    )
