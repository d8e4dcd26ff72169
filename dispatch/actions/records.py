"""Records read, corrected with their history kept, and what was set aside settled."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from sqlmodel import Session

from dispatch.actions.record_moves import has_known_moves, without_record
from dispatch.actions.record_photos import with_photos
from dispatch.actions.settling import settle_anew
from dispatch.actions.take_in import (
    Outcome,
    TakenIn,
    known_about,
    take_in_record,
)
from dispatch.actions.tell_done import tell_done
from dispatch.errors import InvalidValue, NotFound
from dispatch.readings import ReadingAt, ReadingKind
from dispatch.records.checks import check_record, odd_about
from dispatch.records.content import corrected_content, digest_of, plain, record_of
from dispatch.records.follow_ups import FollowUp, follow_ups_of
from dispatch.records.photo_place import without_place
from dispatch.records.photos import Photo, photo_of
from dispatch.records.site_after import site_after
from dispatch.settings import Settings
from dispatch.store.book import read_some_sites, write_sites
from dispatch.store.record_history import read_history
from dispatch.store.record_lists import (
    Aside,
    read_aside,
    read_asides,
    read_follow_up,
    read_follow_ups,
    read_photo,
    write_aside,
    write_follow_up,
    write_photo,
)
from dispatch.store.records import (
    KeptRecord,
    RecordVersion,
    read_record,
    read_records,
    read_state,
    read_versions,
    write_records,
)
from dispatch.store.site_moves import moves_between, write_moves
from dispatch.words import _

LONGEST_NAME = 200  # characters
LONGEST_REASON = 1000


def one_record(session: Session, settings: Settings, record_id: str) -> KeptRecord:
    """One record as it stands; raises NotFound."""
    return with_photos(session, [read_record(session, record_id, settings.zone)])[0]


def records_between(
    session: Session,
    settings: Settings,
    *,
    site_id: str | None = None,
    technician_id: str | None = None,
    first_day: date | None = None,
    last_day: date | None = None,
    newest: int | None = None,
) -> list[KeptRecord]:
    """Records of a site, a technician and a span of days, whichever are given.

    In the order of their days; all of them, or so many of the newest.
    """
    kept = read_records(
        session,
        settings.zone,
        site_id=site_id,
        technician_id=technician_id,
        first_day=first_day,
        last_day=last_day,
        newest=newest,
    )
    return with_photos(session, kept)


def record_count(session: Session) -> int:
    """How many records there are."""
    count, *_rest = read_state(session)
    return count


def record_versions(session: Session, settings: Settings, record_id: str) -> list[RecordVersion]:
    """All versions of a record, the first one first; raises NotFound."""
    found = read_versions(session, record_id, settings.zone)
    if not found:
        raise NotFound(_("There is no record '{record}'.").format(record=record_id))
    return found


def correct_record(
    session: Session,
    settings: Settings,
    record_id: str,
    fields: Mapping[str, Any],
    *,
    by: str,
    reason: str,
) -> KeptRecord:
    """Correct a record; what it said before stays readable with who changed it, when and why.

    What it had changed at the site, its last visit and the register of its equipment, is taken
    back first, so that the site is as if the record had said from the beginning what it says
    now. What somebody changed there since stays. Follow-ups that it had settled are open again
    where it settles them no more.

    Parameters
    ----------
    fields
        Fields of `records.content` that change; the others stay as they are.
    by, reason
        Who corrects it and why.

    Returns
    -------
    KeptRecord
        The new version; the old one where nothing changes.

    Raises
    ------
    NotFound
        When there is no such record.
    InvalidValue
        When nobody signs for it, the id or the site would change, or the record could not be
        what happened. Nothing is changed then.
    """
    _check_signed(by, reason)
    before = read_record(session, record_id, settings.zone)
    record = record_of(plain(corrected_content(before.record, fields)), settings.zone)
    if (record.id, record.site_id) != (record_id, before.record.site_id):
        raise InvalidValue(
            _(
                "A correction keeps the record's id and site: record the visit of the other "
                "site anew, and mark this one as skipped with the reason."
            )
        )
    if digest_of(record) == digest_of(before.record):
        return before
    known = known_about(session, settings, [record])
    check_record(record, known)
    site = read_some_sites(session, [record.site_id])[record.site_id]
    base, moves = without_record(session, settings, site, before.record)
    moved = site_after(base, record, settings.zone)
    if has_known_moves(session, before.record):
        moves[record_id] = moves_between(base, moved)
    after = KeptRecord(record, before.version + 1, odd_about(record, known), before.received_at)
    write_records(session, [after], settings.zone, changed_by=by, reason=reason, now=settings.now())
    write_moves(session, moves)
    settle_anew(session, settings, before.record, record)
    write_sites(session, [moved])
    tell_done(session, settings, [record], {site.id: site})
    return with_photos(session, [after])[0]


def site_history(
    session: Session, site_id: str, kinds: tuple[ReadingKind, ...] = ()
) -> list[ReadingAt]:
    """Readings of a site in the order they were made; all kinds unless some are named."""
    return read_history(session, site_id, kinds)


def keep_photo(session: Session, settings: Settings, data: bytes) -> Photo:
    """Keep a photo as a file without its place; the same photo sent twice is kept once.

    Its id is that of the bytes that were sent, by which its record may have named it before.

    Raises
    ------
    InvalidValue
        When it is no JPEG, PNG or WebP, damaged, or too large.
    """
    photo = photo_of(data, settings.photo_limit_mb)
    _write_whole(photo_file(settings, photo), without_place(data, photo.media_type))
    write_photo(session, photo, settings.now())
    return photo


def find_photo(session: Session, settings: Settings, photo_id: str) -> tuple[Photo, Path]:
    """A photo and its file; raises NotFound when it was not received or its file is gone."""
    photo = read_photo(session, photo_id)
    file = photo_file(settings, photo)
    if not file.is_file():
        raise NotFound(
            _("The file of photo {photo} is gone from {parent}.").format(
                photo=photo_id, parent=file.parent
            )
        )
    return photo, file


def photo_file(settings: Settings, photo: Photo) -> Path:
    """Where the bytes of a photo lie."""
    return settings.photos_dir / photo.id[:2] / photo.file_name


def open_asides(session: Session) -> list[Aside]:
    """What waits for a person because it could not be kept, newest first."""
    return read_asides(session)


def accept_aside(
    session: Session, settings: Settings, aside: str, fields: Mapping[str, Any], *, by: str
) -> TakenIn:
    """Take in what was set aside with some fields changed; where its id is known, as a correction.

    Raises
    ------
    NotFound
        When nothing is set aside by that name.
    InvalidValue
        When it was settled before, or still cannot be kept. It stays set aside.
    """
    _check_signed(by, "accepted")
    found = _open_aside(session, aside)
    if not isinstance(found.content, Mapping):
        raise InvalidValue(_("What was sent is no record at all: dismiss it, and record it anew."))
    content = {**found.content, **fields}
    if any(True for _ in read_versions(session, found.record_id, settings.zone)):
        after = correct_record(
            session, settings, found.record_id, content, by=by, reason=found.reason
        )
        taken = TakenIn(Outcome.KEPT, after.record.id, after.flags, follow_ups_of(after.record))
    else:
        taken = take_in_record(session, settings, content)
        if taken.error is not None:
            raise taken.error
    _settle(session, settings, found, by, _("taken in"))
    return taken


def dismiss_aside(session: Session, settings: Settings, aside: str, *, by: str, why: str) -> None:
    """Say that what was set aside is not wanted; it stays readable. Raises as `accept_aside`."""
    _check_signed(by, why)
    _settle(
        session, settings, _open_aside(session, aside), by, _("dismissed: {why}").format(why=why)
    )


def open_follow_ups(session: Session, site_id: str | None = None) -> list[FollowUp]:
    """Follow-ups that nobody has settled, urgent ones first, then by day."""
    return read_follow_ups(session, site_id=site_id)


def settle(
    session: Session, settings: Settings, follow_up_id: str, *, by: str, outcome: str
) -> FollowUp:
    """Close a follow-up with what became of it.

    Raises
    ------
    NotFound
        When there is none of that id.
    InvalidValue
        When nobody signs for it, or it was settled before.
    """
    _check_signed(by, outcome)
    found = read_follow_up(session, follow_up_id)
    if found.settled_on is not None:
        raise InvalidValue(
            _("The follow-up was settled on {settled} by {settled_by} already.").format(
                settled=found.settled_on, settled_by=found.settled_by
            )
        )
    settled = replace(found, settled_on=settings.today(), settled_by=by, outcome=outcome)
    write_follow_up(session, settled)
    return settled


def _open_aside(session: Session, aside: str) -> Aside:
    found = read_aside(session, aside)
    if found.settled_at is not None:
        raise InvalidValue(
            _("It was settled by {settled_by} already: {outcome}.").format(
                settled_by=found.settled_by, outcome=found.outcome
            )
        )
    return found


def _settle(session: Session, settings: Settings, aside: Aside, by: str, outcome: str) -> None:
    settled = replace(aside, settled_at=settings.now(), settled_by=by, outcome=outcome)
    write_aside(session, settled)


def _check_signed(by: str, reason: str) -> None:
    if not 0 < len(by.strip()) <= LONGEST_NAME or not 0 < len(reason.strip()) <= LONGEST_REASON:
        raise InvalidValue(_("Say who does it and why: both are kept in the history."))


def _write_whole(file: Path, data: bytes) -> None:
    """Write a file that is either whole or not there."""
    if file.is_file():
        return
    file.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=file.parent, prefix=".keeping-") as new:
        (Path(new) / file.name).write_bytes(data)
        os.replace(Path(new) / file.name, file)
