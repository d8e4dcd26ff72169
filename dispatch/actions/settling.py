"""Follow-ups that records settle, and those that a corrected record no longer settles."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from sqlmodel import Session

from dispatch.one_offs import work_id_of
from dispatch.records.follow_ups import (
    COVERS,
    FollowUp,
    FollowUpKind,
    covers_mended,
    follow_ups_of,
    has_settled,
    is_about_covers,
)
from dispatch.records.record import VisitRecord
from dispatch.settings import Settings
from dispatch.store.record_history import read_first_within
from dispatch.store.record_lists import (
    read_follow_ups,
    read_open_at,
    write_follow_up,
    write_follow_ups,
)
from dispatch.store.records import read_record, read_records
from dispatch.water.ranges import UNSAFE
from dispatch.words import _


def settle_by_records(session: Session, settings: Settings, records: Sequence[VisitRecord]) -> None:
    """Settle what is open at the sites of these records.

    That is by a visit made for it, a right test, or drain covers replaced or found sound. The
    first visit among the records counts, and the first reading of all that are kept.
    """
    visits = {
        (work_id_of(one.visit_id or ""), one.site_id): one
        for one in reversed(records)
        if not one.skipped
    }
    for one in read_open_at(session, sorted({one.site_id for one in records})):
        settled = (
            _visited(one, visits.get((one.id, one.site_id)))
            or _tested_right(session, one)
            or _mended(session, settings, one)
        )
        if settled is not None:
            write_follow_up(session, settled)


def settle_anew(
    session: Session, settings: Settings, before: VisitRecord, after: VisitRecord
) -> None:
    """Ask for what a record asks for since its correction, and settle what records settle now.

    What it had settled is open again, unless another record settles it or nobody asks for it any
    more. What a person settled stays.
    """
    kept = read_records(session, settings.zone, site_id=after.site_id)
    records = {one.record.id: one.record for one in kept}
    told = {**records, before.id: before}.values()
    opened = [
        one
        for one in read_follow_ups(session, all_of_them=True, site_id=after.site_id)
        if has_settled(before, one) or _is_asked_on_another_day(one, before, after, told)
    ]
    for one in opened:
        write_follow_up(session, replace(one, settled_on=None, settled_by="", outcome=""))
    asking = sorted({after.id, *(one.record_id for one in opened)})
    asked = [one for record_id in asking for one in follow_ups_of(records[record_id])]
    write_follow_ups(session, asking, asked)
    settle_by_records(session, settings, list(records.values()))


def _is_asked_on_another_day(
    follow_up: FollowUp, before: VisitRecord, after: VisitRecord, records: Iterable[VisitRecord]
) -> bool:
    """Whether a follow-up that a record settled is that of a record whose day is another now."""
    return (
        before.day != after.day
        and follow_up.id in {one.id for one in follow_ups_of(after)}
        and any(has_settled(one, follow_up) for one in records)
    )


def _visited(asked: FollowUp, record: VisitRecord | None) -> FollowUp | None:
    """The follow-up settled by the record of its own visit, None where there is none."""
    if record is None:
        return None
    outcome = _("Visited on {day}. {note}").format(day=record.day, note=record.note)
    return _settled(asked, record, outcome)


def _tested_right(session: Session, asked: FollowUp) -> FollowUp | None:
    """The follow-up settled by a later reading that is right, None where there is none."""
    if asked.about is None:
        return None
    limits = UNSAFE[asked.about]
    later = read_first_within(session, asked.site_id, asked.about, asked.noted_on, limits)
    if later is None:
        return None
    day, value, technician = later
    outcome = _("Tested right on {day}: {value:g}.").format(day=day, value=value)
    return replace(asked, settled_on=day, settled_by=technician, outcome=outcome)


def _mended(session: Session, settings: Settings, asked: FollowUp) -> FollowUp | None:
    """The follow-up settled by covers replaced or found sound since; None where there is none."""
    if asked.kind is not FollowUpKind.CLOSE_POOL:
        return None
    asking = read_record(session, asked.record_id, settings.zone).record
    if not is_about_covers(asked, asking):
        return None
    seen = COVERS.intersection(asking.seen)
    since = read_records(session, settings.zone, site_id=asked.site_id, first_day=asked.noted_on)
    for record in (one.record for one in since):
        if seen <= covers_mended(record) and _is_later(record, asking):
            outcome = _("Drain covers in order on {day}. {note}").format(
                day=record.day, note=record.note
            )
            return _settled(asked, record, outcome)
    return None


def _is_later(record: VisitRecord, asking: VisitRecord) -> bool:
    """Whether a visit was after another; on one day by their arrivals, where both are known."""
    if record.day != asking.day or record.arrived_at is None or asking.arrived_at is None:
        return record.day > asking.day
    return record.arrived_at > asking.arrived_at


def _settled(asked: FollowUp, record: VisitRecord, outcome: str) -> FollowUp:
    return replace(
        asked,
        settled_on=record.day,
        settled_by=record.technician_id,
        outcome=outcome.strip(),
    )
