"""What a repair changes for customers: other times, technicians and days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.day.rest import Order
from dispatch.day.situation import Situation
from dispatch.day.work import Work

NEW_TIME_S = 15 * 60  # seconds from which a customer is told of another time; common practice

Begun = tuple[str, int]  # who comes, and when service begins in seconds of the day


@dataclass(frozen=True, slots=True)
class NewTime:
    """A customer who gets another time, technician or day than as the day stands without it.

    So a customer who is late already is named where the repair changes that, and not otherwise.
    Times are the beginning of service, seconds of the day; None for a visit that had no place, or
    that leaves the day.
    """

    visit_id: str
    site_id: str
    technician_before: str | None
    technician_after: str | None
    start_before_s: int | None
    start_after_s: int | None
    to_day: date | None = None


def new_times(
    one: Situation, before: Situation, orders: Sequence[Order], days: Mapping[str, date]
) -> tuple[NewTime, ...]:
    """Customers for whom these orders change something.

    `one` is the day with what happened, `before` as it stands without; `days` has the visits that
    go to another day.
    """
    stood, starts = _starts(before, before.rest.base), _starts(one, orders)
    works = {work.visit_id: work for work in one.rest.works}
    if one.off is not None:
        works[one.off.work.visit_id] = one.off.work
    works |= {visit: one.state.visits[visit].work for visit in starts if visit not in works}
    found = []
    for work in works.values():
        was, now = stood.get(work.visit_id), starts.get(work.visit_id)
        leaves = now is None and (was is not None or work.visit_id in days)
        if leaves or (now is not None and _is_told(was, now)):
            found.append(_new_time(work, was, now, days))
    return tuple(found)


def _starts(one: Situation, orders: Sequence[Order]) -> dict[str, Begun]:
    """Who will begin each visit ahead, and when, by visit."""
    found: dict[str, Begun] = {}
    for who, visits in one.ahead(orders).items():
        works = [one.state.visits[visit].work for visit in visits]
        begins = one.standings[who].times(one.rest.roads, works).begin_s
        found |= {visit: (who, at_s) for visit, at_s in zip(visits, begins, strict=True)}
    return found


def _is_told(was: Begun | None, now: Begun) -> bool:
    return was is None or was[0] != now[0] or abs(was[1] - now[1]) >= NEW_TIME_S


def _new_time(
    work: Work, was: Begun | None, now: Begun | None, days: Mapping[str, date]
) -> NewTime:
    return NewTime(
        visit_id=work.visit_id,
        site_id=work.site_id,
        technician_before=was[0] if was else None,
        technician_after=now[0] if now else None,
        start_before_s=was[1] if was else None,
        start_after_s=now[1] if now else None,
        to_day=days.get(work.visit_id),
    )
