"""Taking in records: each counts once, none is lost, and what follows from it happens at once.

A record that cannot be kept is set aside word for word with the reason, and so is one whose id
was used for something else; both wait for a person (see `actions.asides`). A record moves the
site's last visit and, by the upkeep it names, the register of its equipment.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum

from sqlmodel import Session

from dispatch.actions.settling import settle_by_records
from dispatch.actions.tell_done import tell_done
from dispatch.errors import DispatchError, InvalidValue, RecordConflict
from dispatch.records.checks import Known, check_record, odd_about, photos_missing
from dispatch.records.content import digest_of, plain, record_of
from dispatch.records.follow_ups import FollowUp, follow_ups_of
from dispatch.records.record import VisitRecord
from dispatch.records.site_after import site_after
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_some_sites, write_sites
from dispatch.store.record_lists import (
    Aside,
    aside_id,
    read_photo_ids,
    write_aside,
    write_follow_ups,
)
from dispatch.store.records import (
    KeptRecord,
    read_digests,
    read_known_ids,
    read_planned_visits,
    read_visit_records,
    write_records,
)
from dispatch.store.site_moves import Moves, moves_between, write_moves
from dispatch.words import _


class Outcome(StrEnum):
    """What became of something that was sent."""

    KEPT = "kept"
    KNOWN = "known"  # the same record had been kept before
    ASIDE = "set-aside"


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What became of one record; `error` says why it was set aside, as `aside` names it."""

    outcome: Outcome
    record_id: str
    flags: tuple[str, ...] = ()
    follow_ups: tuple[FollowUp, ...] = ()
    error: DispatchError | None = None
    aside: str = ""


@dataclass(frozen=True, slots=True)
class _Judged:
    content: object
    record: VisitRecord | None = None
    error: DispatchError | None = None
    moves: Moves = field(default_factory=dict)


def take_in_record(session: Session, settings: Settings, content: object) -> TakenIn:
    """Take in one record as it was sent; see `take_in_records`."""
    return take_in_records(session, settings, [content])[0]


def take_in_records(
    session: Session, settings: Settings, contents: Sequence[object]
) -> list[TakenIn]:
    """Take in records as they were sent (`records.content`), in their order.

    Never raises for what is wrong with a record: it is set aside, and the answer says so.
    """
    judged = [_parsed(settings, content) for content in contents]
    records = [one.record for one in judged if one.record is not None]
    known = known_about(session, settings, records)
    sites = read_some_sites(session, {one.site_id for one in records})
    digests = read_digests(session, [one.id for one in records])
    now = settings.now()
    kept: list[KeptRecord] = []
    moves: dict[str, Moves] = {}
    answers: list[TakenIn] = []
    for one in judged:
        one = _checked(one, known, sites, digests, settings)  # noqa: PLW2901
        if one.record is None or one.error is not None:
            answers.append(_set_aside(session, one, now))
            continue
        record = one.record
        if record.id in digests:
            answers.append(TakenIn(Outcome.KNOWN, record.id))
            continue
        digests[record.id] = {digest_of(record)}
        flags = odd_about(record, known)
        kept.append(KeptRecord(record, 1, flags, now))
        moves[record.id] = one.moves
        said = flags + photos_missing(record, known.photos)
        answers.append(TakenIn(Outcome.KEPT, record.id, said, follow_ups_of(record)))
    _keep(session, settings, kept, sites)
    write_moves(session, moves)
    return answers


def judge(
    session: Session, settings: Settings, contents: Sequence[object]
) -> list[DispatchError | None]:
    """Why each of the records could not be kept, None for those that could; nothing is written."""
    judged = [_parsed(settings, content) for content in contents]
    records = [one.record for one in judged if one.record is not None]
    known = known_about(session, settings, records)
    sites = read_some_sites(session, {one.site_id for one in records})
    digests = read_digests(session, [one.id for one in records])
    return [_checked(one, known, sites, digests, settings).error for one in judged]


def known_about(session: Session, settings: Settings, records: Sequence[VisitRecord]) -> Known:
    """What the records are checked against, read once for all of them."""
    visit_ids = [one.visit_id for one in records if one.visit_id is not None]
    site_ids, technician_ids = read_known_ids(
        session, {one.site_id for one in records}, {one.technician_id for one in records}
    )
    return Known(
        site_ids=site_ids,
        technician_ids=technician_ids,
        planned=read_planned_visits(session, visit_ids),
        recorded=read_visit_records(session, visit_ids),
        photos=read_photo_ids(session, [photo for one in records for photo in one.photos]),
        today=settings.today(),
        now=settings.now(),
        zone=settings.zone,
    )


def _parsed(settings: Settings, sent: object) -> _Judged:
    content = plain(sent)
    try:
        return _Judged(content, record_of(content, settings.zone))
    except InvalidValue as error:
        return _Judged(content, error=error)


def _checked(
    one: _Judged,
    known: Known,
    sites: dict[str, Site],
    digests: Mapping[str, set[str]],
    settings: Settings,
) -> _Judged:
    """The record judged: refused, in conflict, or fit; a fit one has moved its site in `sites`."""
    if one.record is None:
        return one
    record = one.record
    if record.id in digests:
        if digest_of(record) in digests[record.id]:
            return one
        return replace(one, error=_conflict(record))
    try:
        check_record(record, known)
        before = sites[record.site_id]
        sites[record.site_id] = after = site_after(before, record, settings.zone)
    except InvalidValue as error:
        return replace(one, error=error)
    return replace(one, moves=moves_between(before, after))


def _conflict(record: VisitRecord) -> RecordConflict:
    return RecordConflict(
        _(
            "The record {id} was kept already and says something else. What was sent now is "
            "set aside: correct the record if the new one is right, or send it with an id of "
            "its own."
        ).format(id=record.id)
    )


def _set_aside(session: Session, one: _Judged, now: datetime) -> TakenIn:
    error = one.error or InvalidValue(_("The record cannot be read."))
    name = aside_id(one.content)
    record_id = _id_in(one.content)
    write_aside(session, Aside(name, record_id, one.content, error.code, str(error), now))
    return TakenIn(Outcome.ASIDE, record_id, error=error, aside=name)


def _id_in(content: object) -> str:
    return str(content.get("id") or "") if isinstance(content, Mapping) else ""


def _keep(
    session: Session,
    settings: Settings,
    kept: Sequence[KeptRecord],
    sites: Mapping[str, Site],
) -> None:
    """Write what is fit and all that follows from it."""
    if not kept:
        return
    write_records(session, kept, settings.zone)
    write_sites(session, [sites[site_id] for site_id in _ids(kept)])
    records = [one.record for one in kept]
    asked = [one for record in records for one in follow_ups_of(record)]
    write_follow_ups(session, [one.id for one in records], asked)
    settle_by_records(session, settings, records)
    tell_done(session, settings, records, sites)


def _ids(kept: Iterable[KeptRecord]) -> list[str]:
    return sorted({one.record.site_id for one in kept})
