"""What happens on a day, as values: the history from which every state of the day follows.

An event is never changed or taken back; a mistake is another event.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from typing import Any
from uuid import UUID

from dispatch.errors import InvalidValue
from dispatch.words import _

LONGEST_WHY = 2000  # characters; as a note of a record
LONGEST_NAME = 200  # characters
MOST_AHEAD = timedelta(hours=1)  # how far a phone's clock may run ahead; common practice


class EventKind(StrEnum):
    """What can happen on a day."""

    PUBLISHED = "published"  # a technician's route of the day was published (again)
    REPAIRED = "repaired"  # routes of the day were replaced by a repair
    ELSEWHERE = "published-elsewhere"  # another day was published with a visit that had no place
    SHIFT_STARTED = "shift-started"
    SHIFT_ENDED = "shift-ended"
    STARTED = "started"  # service at a stop has begun: the technician is at the gate
    DONE = "done"
    SKIPPED = "skipped"  # `data` has the reason's code, `why` what was noted
    UNDONE = "undone"  # the last started, done or skipped of this visit was a mistake
    ALIVE = "alive"  # a sign of life
    ALARM = "alarm"  # a person working alone gives no sign of life
    ALARM_CLEARED = "alarm-cleared"
    NOTE = "note"


class SkipReason(StrEnum):
    """Why a stop was passed over."""

    GATE_LOCKED = "gate-locked"
    DOG = "dog"
    LIGHTNING = "lightning"
    OWNERS_WISH = "owners-wish"
    OTHER = "other"


BY_THE_OFFICE = frozenset({EventKind.PUBLISHED, EventKind.REPAIRED, EventKind.ELSEWHERE})
OF_VISIT = frozenset({EventKind.STARTED, EventKind.DONE, EventKind.SKIPPED, EventKind.UNDONE})
OF_TECHNICIAN = OF_VISIT | {
    EventKind.PUBLISHED,
    EventKind.SHIFT_STARTED,
    EventKind.SHIFT_ENDED,
    EventKind.ALIVE,
    EventKind.ALARM,
    EventKind.ALARM_CLEARED,
}
SIGNS_OF_LIFE = OF_VISIT | {
    EventKind.SHIFT_STARTED,
    EventKind.SHIFT_ENDED,
    EventKind.ALIVE,
    EventKind.ALARM_CLEARED,
}


@dataclass(frozen=True, slots=True)
class DayEvent:
    """One thing that happened on a day.

    `id` is a UUID; a phone makes its own, so that what is sent twice is one event. `day` is the
    working day of the route (a shift past midnight keeps its day). `at` is when it happened and
    `received_at` when the service learnt of it, both aware. `who` is the name of the person, or
    the technician's id. `data` is plain JSON. `number` is its place in the day's history, given
    by the store; the version of a day is its last number.

    Raises
    ------
    InvalidValue
        When the id is no UUID, a time has no zone, a visit or technician is missing, the reason
        of a skipped stop is unknown, or words are too long.
    """

    id: str
    day: date
    kind: EventKind
    at: datetime
    received_at: datetime
    who: str
    technician_id: str | None = None
    visit_id: str | None = None
    why: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)
    number: int = 0

    def __post_init__(self) -> None:
        _check_id(self.id)
        for name, moment in ((_("time"), self.at), (_("time of receipt"), self.received_at)):
            if moment.tzinfo is None:
                raise InvalidValue(
                    _(
                        "The {name} {moment} of an event has no time zone: give it as "
                        "2026-11-30T16:05:00Z."
                    ).format(name=name, moment=moment)
                )
        if self.at > self.received_at + MOST_AHEAD:
            raise InvalidValue(
                _(
                    "The event is to have happened at {moment:%Y-%m-%d %H:%M} UTC, which "
                    "is still to come: set the clock of the device."
                ).format(moment=self.at.astimezone(UTC))
            )
        if self.kind in OF_TECHNICIAN and not self.technician_id:
            raise InvalidValue(
                _("An event '{kind}' needs a technician: give the id.").format(kind=self.kind)
            )
        if self.kind in OF_VISIT and not self.visit_id:
            raise InvalidValue(
                _("An event '{kind}' needs a visit: give the id.").format(kind=self.kind)
            )
        if self.kind is EventKind.SKIPPED:
            _check_reason(self.data.get("reason"))
        self._check_words()

    def _check_words(self) -> None:
        if len(self.why) > LONGEST_WHY:
            raise InvalidValue(
                _("A note has at most {longest_why} characters: shorten it.").format(
                    longest_why=LONGEST_WHY
                )
            )
        for words in (self.who, self.technician_id or "", self.visit_id or ""):
            if len(words) > LONGEST_NAME:
                raise InvalidValue(
                    _("'{words}...' has {number} characters: {longest_name} at most.").format(
                        words=words[:40], number=len(words), longest_name=LONGEST_NAME
                    )
                )


def _check_id(text: str) -> None:
    try:
        right = str(UUID(text))
    except ValueError as error:
        raise InvalidValue(
            _("'{text}' is no id of an event: give a UUID, made once for each event.").format(
                text=text[:60]
            )
        ) from error
    if text != right:
        raise InvalidValue(
            _("The id '{text}' must be written as {right}.").format(text=text[:60], right=right)
        )


def _check_reason(reason: object) -> None:
    if reason not in {str(one) for one in SkipReason}:
        raise InvalidValue(
            _(
                "'{reason}' is no reason to skip a stop: give one of {reasons} as 'reason' "
                "in the data."
            ).format(reason=reason, reasons=", ".join(SkipReason))
        )
