"""Taking in what phones send: each entry once, in its order, in a transaction of its own.

An entry that cannot be used is set aside word for word and never holds up the next one. One that
no longer fits the day, because the office moved the stop meanwhile, is kept all the same: its
record is, and both sides are told.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.actions.phone_events import NOTHING_KEPT, happen
from dispatch.actions.phone_records import keep_record
from dispatch.errors import DispatchError, InvalidValue
from dispatch.people import Person, Role
from dispatch.phone.entry import Entry, Outcome, clock_words, entry_id_of, entry_of, moment_of
from dispatch.records.content import plain
from dispatch.settings import Settings
from dispatch.store.db import transaction
from dispatch.store.phone_entries import KeptEntry, read_entries, read_entry, write_entry
from dispatch.store.record_lists import Aside, aside_id, write_aside
from dispatch.words import _

MOST_AT_ONCE = 200  # entries of one call; a technician's day has about 40
TRIES = 3  # of an entry that two calls bring at the same moment


@dataclass(frozen=True, slots=True)
class Sending:
    """What a phone sends at once: its store's id, when by its clock, and entries as they are."""

    phone: str
    sent_at: datetime
    entries: Sequence[object]

    @classmethod
    def of(cls, content: object) -> Sending:
        """The sending of its content; raises InvalidValue where it is none."""
        if not isinstance(content, Mapping) or not isinstance(content.get("entries"), list):
            raise InvalidValue(_("Send an object with phone, sent_at and a list of entries."))
        entries = content["entries"]
        if len(entries) > MOST_AT_ONCE:
            raise InvalidValue(
                _("{number} entries at once are too many: send {most_at_once} at most.").format(
                    number=len(entries), most_at_once=MOST_AT_ONCE
                )
            )
        phone = entry_id_of({"id": content.get("phone")})
        return cls(phone, moment_of(content.get("sent_at")), entries)


@dataclass(frozen=True, slots=True)
class Answered:
    """What became of one entry, in the words that the phone shows."""

    id: str
    outcome: Outcome
    words: str = ""


@dataclass(frozen=True, slots=True)
class Reply:
    """Answers in the order of the entries; `clock` says where the phone's clock is off."""

    received_at: datetime
    clock: str
    entries: tuple[Answered, ...]


def _nothing(_session: Session) -> None:
    """What else is written with an entry, where nothing is."""


def take_entries(
    engine: Engine,
    settings: Settings,
    person: Person,
    sending: Sending,
    also: Callable[[Session], None] = _nothing,
) -> Reply:
    """Take in entries one after the other, each in a transaction of its own.

    Sent again, an entry is answered as before and counts once, whether the first answer was lost,
    the service was restarted or two calls bring it at the same moment.

    Parameters
    ----------
    engine
        The database.
    settings
        Of the company.
    person
        Who sends; a technician may enter for himself only.
    sending
        What the phone sent, its entries in the order in which they were entered.
    also
        Called in the transaction of the first entry, to write what belongs to the call.
    """
    now = settings.now()
    answers = tuple(
        _take(engine, settings, person, sending, content, now, _nothing if n else also)
        for n, content in enumerate(sending.entries)
    )
    clock = "" if settings.fixed_today is not None else clock_words(sending.sent_at, now)
    return Reply(now, clock, answers)


def entries_of(
    session: Session,
    *,
    technician_id: str | None = None,
    day: date | None = None,
    outcome: Outcome | None = None,
) -> list[KeptEntry]:
    """Entries as they were answered, in the order in which they were taken."""
    return read_entries(session, technician_id=technician_id, day=day, outcome=outcome)


def entry_table(entries: Sequence[KeptEntry]) -> ListTable:
    """Entries as a table; moments are UTC, `at` by the phone's clock."""
    columns = (
        "place", "id", "phone", "number", "technician_id", "day", "kind", "visit_id", "at",
        "received_at", "outcome", "words",
    )  # fmt: skip
    rows = tuple(
        (
            one.place,
            one.id,
            one.phone,
            one.number,
            one.technician_id,
            one.day,
            one.kind,
            one.visit_id,
            one.at.isoformat() if one.at else "",
            one.received_at.isoformat(),
            str(one.outcome),
            one.words,
        )
        for one in entries
    )
    return ListTable(columns, rows)


def _take(
    engine: Engine,
    settings: Settings,
    person: Person,
    sending: Sending,
    content: object,
    now: datetime,
    also: Callable[[Session], None],
) -> Answered:
    for attempt in range(TRIES):
        try:
            with transaction(engine) as session:
                answered = _take_once(session, settings, person, sending, content, now)
                also(session)
                return answered
        except IntegrityError:  # another call wrote it between our look and our writing
            if attempt == TRIES - 1:
                raise
    raise AssertionError("unreachable")


def _take_once(
    session: Session,
    settings: Settings,
    person: Person,
    sending: Sending,
    content: object,
    now: datetime,
) -> Answered:
    sent = plain(content)
    try:
        entry_id = entry_id_of(sent)
    except InvalidValue as error:
        _set_aside(session, sent, error, now)
        return Answered(str(_field(sent, "id"))[:60], Outcome.REFUSED, str(error))
    known = read_entry(session, entry_id)
    if known is not None:
        again = Outcome.ALREADY if known.outcome is Outcome.TAKEN else known.outcome
        return Answered(entry_id, again, known.words)
    kept = _judged(session, settings, person, sent, now)
    write_entry(
        session,
        replace(kept, id=entry_id, phone=sending.phone, sent_at=sending.sent_at, received_at=now),
    )
    return Answered(entry_id, kept.outcome, kept.words)


def _judged(
    session: Session, settings: Settings, person: Person, sent: object, now: datetime
) -> KeptEntry:
    """The entry with what became of it; all that follows from it is written."""
    try:
        entry = entry_of(sent)
        _check_own(person, entry)
    except InvalidValue as error:
        return _unreadable(session, sent, error, now)
    happened = happen(session, settings, entry, person.name, now)
    record = keep_record(session, settings, entry, took_over=happened.is_moved, now=now)
    words = " ".join(part for part in (happened.words, record.words) if part)
    outcome, aside = Outcome.TAKEN, record.aside
    if record.aside or (happened.is_refused and not record.is_kept):
        outcome = Outcome.REFUSED
    if outcome is Outcome.REFUSED and not aside:
        aside = _set_aside(session, sent, InvalidValue(happened.words or _(NOTHING_KEPT)), now)
    return _kept(entry, sent, outcome, words, aside, now)


def _check_own(person: Person, entry: Entry) -> None:
    if person.role is Role.TECHNICIAN and person.technician_id != entry.technician_id:
        raise InvalidValue(
            _(
                "{name} is signed in and cannot enter for technician '{technician}': the "
                "office can take it in."
            ).format(name=person.name, technician=entry.technician_id)
        )


def _kept(
    entry: Entry, sent: object, outcome: Outcome, words: str, aside: str, now: datetime
) -> KeptEntry:
    return KeptEntry(
        id=entry.id,
        phone="",
        number=entry.number,
        technician_id=entry.technician_id,
        kind=str(entry.kind),
        received_at=now,
        outcome=outcome,
        content=sent,
        day=entry.day,
        visit_id=entry.visit_id,
        at=entry.at,
        words=words,
        aside=aside,
    )


def _unreadable(session: Session, sent: object, error: InvalidValue, now: datetime) -> KeptEntry:
    number = _field(sent, "number")
    return KeptEntry(
        id="",
        phone="",
        number=number if isinstance(number, int) and 0 <= number < 2**53 else 0,
        technician_id=str(_field(sent, "technician_id"))[:64],
        kind=str(_field(sent, "kind"))[:40],
        received_at=now,
        outcome=Outcome.REFUSED,
        content=sent,
        words=str(error),
        aside=_set_aside(session, sent, error, now),
    )


def _set_aside(session: Session, sent: object, error: DispatchError, now: datetime) -> str:
    """Set aside the visit's record where there is one, else the entry; word for word."""
    record = _field(sent, "record")
    content: Any = record if isinstance(record, Mapping) and record else sent
    name = aside_id(content)
    record_id = str(_field(content, "id"))
    write_aside(session, Aside(name, record_id, content, error.code, str(error), now))
    return name


def _field(content: object, name: str) -> object:
    found = content.get(name) if isinstance(content, Mapping) else None
    return "" if found is None else found
