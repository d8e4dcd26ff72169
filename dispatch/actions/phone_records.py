"""The record that an entry of a phone carries.

It is kept once, corrected when the visit is entered anew, and withdrawn when it was a mistake.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session

from dispatch.actions.record_moves import has_known_moves
from dispatch.actions.records import correct_record, one_record
from dispatch.actions.take_in import Outcome, take_in_record
from dispatch.day.events import EventKind
from dispatch.errors import DispatchError, InvalidValue, NotFound
from dispatch.phone.entry import Entry, moment_of
from dispatch.records.record import MISTAKE
from dispatch.settings import Settings
from dispatch.store.record_lists import Aside, aside_id, write_aside
from dispatch.words import N_, _

ANEW = N_("Entered anew on the phone.")
LEFT_AS_IT_IS = N_(
    "The date that the upkeep gave the site's equipment stays: ask the office to mend it."
)


@dataclass(frozen=True, slots=True)
class RecordKept:
    """What became of the record: `aside` names it where it was set aside; words for the phone."""

    is_kept: bool = False
    words: str = ""
    aside: str = ""


def keep_record(
    session: Session, settings: Settings, entry: Entry, *, took_over: bool, now: datetime
) -> RecordKept:
    """Keep the record of an entry, where it has one.

    Parameters
    ----------
    entry
        The entry.
    took_over
        Whether the stop is somebody else's by now, so that the record says so.
    now
        When the service learns of it, aware: a phone's clock that runs ahead is held at it.
    """
    if entry.kind is EventKind.UNDONE and entry.record_id:
        return _withdraw(session, settings, entry)
    if not entry.record:
        return RecordKept()
    content = {**entry.record, **_held(entry.record, now)}
    if took_over or content.get("technician_id") != entry.technician_id:
        content["took_over"] = True
    if _is_own(session, settings, entry, str(content.get("id"))):
        return _anew(session, settings, entry, content, now)
    taken = take_in_record(session, settings, content)
    if taken.outcome is Outcome.ASIDE:
        return RecordKept(
            words=_("The record was set aside: {error}").format(error=taken.error),
            aside=taken.aside,
        )
    return RecordKept(is_kept=True)


def _anew(
    session: Session, settings: Settings, entry: Entry, content: Mapping[str, Any], now: datetime
) -> RecordKept:
    """A visit entered again after an undo: what the record said before stays readable."""
    try:
        fields = {"skipped": "", **content}
        correct_record(
            session, settings, str(content["id"]), fields, by=entry.technician_id, reason=_(ANEW)
        )
    except DispatchError as error:
        name = aside_id(content)
        aside = Aside(name, str(content["id"]), dict(content), error.code, str(error), now)
        write_aside(session, aside)
        return RecordKept(
            words=_("The record was set aside: {error}").format(error=error), aside=name
        )
    return RecordKept(is_kept=True)


def _withdraw(session: Session, settings: Settings, entry: Entry) -> RecordKept:
    try:
        before = one_record(session, settings, entry.record_id).record
    except NotFound:
        return RecordKept()
    if not _is_own(session, settings, entry, entry.record_id):
        return RecordKept(words=_("The record is that of another visit and stays as it is."))
    is_known = has_known_moves(session, before)
    empty: dict[str, Any] = {
        name: [] for name in ("readings", "work", "products", "upkeep", "seen", "parts_to_order")
    }
    fields = {**empty, "skipped": _(MISTAKE)}
    try:
        correct_record(
            session, settings, entry.record_id, fields, by=entry.technician_id, reason=_(MISTAKE)
        )
    except InvalidValue as error:
        return RecordKept(words=_("The record stays as it is: {error}").format(error=error))
    return RecordKept(is_kept=True, words="" if is_known else _(LEFT_AS_IT_IS))


def _held(record: Mapping[str, Any], now: datetime) -> dict[str, str]:
    """Arrival and departure no later than the moment of receipt."""
    held = {}
    for name in ("arrived_at", "left_at"):
        try:
            at = moment_of(record.get(name))
        except InvalidValue:
            continue
        if at > now:
            held[name] = now.isoformat()
    return held


def _is_own(session: Session, settings: Settings, entry: Entry, record_id: str) -> bool:
    """Whether there is a record of this id, of the same technician and visit."""
    try:
        before = one_record(session, settings, record_id).record
    except NotFound:
        return False
    whose = (before.technician_id, before.visit_id)
    return whose == (entry.technician_id, entry.visit_id)
