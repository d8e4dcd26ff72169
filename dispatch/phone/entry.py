"""An entry: one thing a technician entered on a phone, kept there until the service has it.

Its id is made on the phone (UUID, RFC 9562) and its number counts up in the phone's own store, so
that what is sent twice counts once and what was entered first is taken first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any
from uuid import UUID

from dispatch.clock import YEARS, parse_day
from dispatch.day.events import LONGEST_WHY, EventKind, SkipReason
from dispatch.errors import InvalidValue
from dispatch.words import _

CLOCK_SLACK = timedelta(minutes=5)  # a phone's clock off by more is told of; common practice
LONGEST_ID = 64  # characters; as ids of technicians
LONGEST_VISIT_ID = 200  # characters; as the column of a record
LARGEST_NUMBER = 2**53  # counts of JavaScript are exact up to here (ECMA-262, 6.1.6.1)
ENTERED = frozenset(
    {
        EventKind.SHIFT_STARTED,
        EventKind.SHIFT_ENDED,
        EventKind.STARTED,
        EventKind.DONE,
        EventKind.SKIPPED,
        EventKind.UNDONE,
        EventKind.ALIVE,
        EventKind.NOTE,
    }
)
OF_A_VISIT = frozenset(
    {EventKind.STARTED, EventKind.DONE, EventKind.SKIPPED, EventKind.UNDONE}
)  # fmt: skip
FIELDS = (
    "id",
    "number",
    "technician_id",
    "day",
    "kind",
    "at",
    "visit_id",
    "site_id",
    "reason",
    "note",
    "record",
    "record_id",
)


class Outcome(StrEnum):
    """What became of an entry that was sent."""

    TAKEN = "taken"
    ALREADY = "already"  # it had been taken before
    REFUSED = "refused"  # set aside word for word, for a person


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry.

    `at` is aware and by the phone's clock. `record` is the content of the visit's record where
    the entry says that the visit was done or skipped; `record_id` names the record that an
    `undone` takes back.

    Raises
    ------
    InvalidValue
        When the kind is none that a phone enters, a visit or the reason is missing, or a text is
        too long.
    """

    id: str
    number: int
    technician_id: str
    day: date
    kind: EventKind
    at: datetime
    visit_id: str | None = None
    site_id: str = ""
    reason: str = ""
    note: str = ""
    record: Mapping[str, Any] = field(default_factory=dict)
    record_id: str = ""

    def __post_init__(self) -> None:
        if self.kind not in ENTERED:
            raise InvalidValue(
                _("A phone cannot enter '{kind}': give one of {entered}.").format(
                    kind=self.kind, entered=", ".join(sorted(ENTERED))
                )
            )
        if self.kind in OF_A_VISIT and not self.visit_id:
            raise InvalidValue(
                _("An entry '{kind}' needs the visit: give its id.").format(kind=self.kind)
            )
        if self.kind is EventKind.SKIPPED and self.reason not in set(SkipReason):
            raise InvalidValue(
                _("'{reason}' is no reason to skip a stop: give one of {skipreason}.").format(
                    reason=self.reason[:40], skipreason=", ".join(SkipReason)
                )
            )
        if len(self.note) > LONGEST_WHY:
            raise InvalidValue(
                _("A note has at most {longest_why} characters: shorten it.").format(
                    longest_why=LONGEST_WHY
                )
            )
        if not 0 < len(self.technician_id) <= LONGEST_ID:
            raise InvalidValue(_("An entry needs its technician: give the id."))
        if len(self.visit_id or "") > LONGEST_VISIT_ID:
            raise InvalidValue(
                _("'{visit}…' is no id of a visit.").format(visit=(self.visit_id or "")[:40])
            )


def entry_of(content: object) -> Entry:
    """The entry of its content, a JSON object with `FIELDS`.

    Raises
    ------
    InvalidValue
        Naming the field, its value and the mend.
    """
    if not isinstance(content, Mapping):
        raise InvalidValue(_("An entry must be an object with named fields."))
    unknown = [str(name) for name in content if name not in FIELDS]
    if unknown:
        raise InvalidValue(
            _("An entry has no field '{unknown}': leave it out.").format(unknown=unknown[0][:40])
        )
    record = content.get("record") or {}
    if not isinstance(record, Mapping):
        raise InvalidValue(_("The record of an entry must be an object with named fields."))
    return Entry(
        id=entry_id_of(content),
        number=_number(content.get("number")),
        technician_id=_text(content, "technician_id"),
        day=parse_day(_text(content, "day")),
        kind=_kind(_text(content, "kind")),
        at=moment_of(content.get("at")),
        visit_id=_text(content, "visit_id") or None,
        site_id=_text(content, "site_id"),
        reason=_text(content, "reason"),
        note=_text(content, "note"),
        record=record,
        record_id=_text(content, "record_id"),
    )


def entry_id_of(content: object) -> str:
    """The id of an entry's content; raises InvalidValue when it has none or it is no UUID."""
    text = content.get("id") if isinstance(content, Mapping) else None
    try:
        right = str(UUID(text)) if isinstance(text, str) else ""
    except ValueError:
        right = ""
    if not right or text != right:
        raise InvalidValue(
            _(
                "'{text}' is no id of an entry: give a UUID in lower case, as "
                "0b6f6f0e-8f5b-4a53-9d0e-5d2a5f7f2c11, made once for each entry."
            ).format(text=str(text)[:60])
        )
    return right


def moment_of(text: object) -> datetime:
    """An aware moment of ISO 8601 text; raises InvalidValue for anything else."""
    try:
        found = datetime.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        found = None
    if found is None or found.tzinfo is None or found.year not in YEARS:
        raise InvalidValue(
            _("'{text}' is no moment: give it with its time zone, as 2026-11-30T16:05:00Z.").format(
                text=str(text)[:40]
            )
        )
    return found


def clock_words(phone_at: datetime, service_at: datetime) -> str:
    """A sentence where a phone's clock is off by more than five minutes; empty where it is not."""
    off = phone_at - service_at
    if abs(off) <= CLOCK_SLACK:
        return ""
    minutes = round(abs(off).total_seconds() / 60)
    span = (
        _("{minutes} minutes").format(minutes=minutes)
        if minutes < 120
        else _("{minutes:.0f} hours").format(minutes=minutes / 60)
    )
    said = (
        _("The clock of the phone is {span} ahead: set it to automatic time.")
        if off > timedelta(0)
        else _("The clock of the phone is {span} behind: set it to automatic time.")
    )
    return said.format(span=span)


def _kind(text: str) -> EventKind:
    try:
        return EventKind(text)
    except ValueError as error:
        raise InvalidValue(
            _("'{text}' is nothing that a phone enters: give one of {entered}.").format(
                text=text[:40], entered=", ".join(sorted(ENTERED))
            )
        ) from error


def _number(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= LARGEST_NUMBER:
        raise InvalidValue(
            _("'{value}' is no number of an entry: count up from 1 in the phone's store.").format(
                value=str(value)[:40]
            )
        )
    return value


def _text(content: Mapping[str, Any], name: str) -> str:
    value = content.get(name)
    if value is None:
        return ""
    if not isinstance(value, str):
        raise InvalidValue(
            _("The field '{name}' of an entry is no text: give it as text.").format(name=name)
        )
    return value.strip()
