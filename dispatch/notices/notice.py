"""A message to a customer, as it is kept from the moment it was decided on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from dispatch.contacts import NoticeWish


class NoticeKind(StrEnum):
    """What a customer is told."""

    DAY_BEFORE = "day-before"  # when to expect the technician
    MOVED = "moved"  # a visit that was announced takes place on another day
    CALLED_OFF = "called-off"  # a visit that was announced does not take place
    DONE = "done"  # where to read what was done

    @property
    def wish(self) -> NoticeWish:
        """What the customer must have asked for."""
        return NoticeWish.DONE if self is NoticeKind.DONE else NoticeWish.DAY_BEFORE


class NoticeState(StrEnum):
    """What became of a message."""

    WAITING = "waiting"  # to be sent, or sent and not marked yet
    SENT = "sent"  # the mail server took it
    DROPPED = "dropped"  # no longer true, or no longer wished, when it was to be sent
    FAILED = "failed"  # given up; a person can have it tried again


@dataclass(frozen=True, slots=True)
class Notice:
    """One message: about a visit of `day`, which stood on `from_day` when it was announced.

    Visit, kind and `number` (from 1) are its name; those about the time of one visit are numbered
    in the order in which they were decided on. `tries` counts how often it was, or may have
    been, handed to the mail server; it is not tried again before `next_try_at`. `why` says why it
    was dropped, or what the mail server said last, without the address. Moments are aware.
    """

    visit_id: str
    kind: NoticeKind
    number: int
    site_id: str
    day: date
    made_at: datetime
    next_try_at: datetime
    from_day: date | None = None
    state: NoticeState = NoticeState.WAITING
    tries: int = 0
    sent_at: datetime | None = None
    why: str = ""

    @property
    def announced_for(self) -> date:
        """The day that the customer counted on when it was decided on."""
        return self.from_day or self.day

    @property
    def name(self) -> tuple[str, NoticeKind, int]:
        """What tells it from all others."""
        return self.visit_id, self.kind, self.number
