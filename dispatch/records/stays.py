"""How long technicians stayed, and how long they drove: from arrivals and departures.

A check-out that was forgotten shows as a stay that is far too long, that reaches into the next
stop's stay, or that has no end. The last two are left out here; the first is weighed down where
minutes are learnt.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Protocol

from dispatch.records.checks import LONG_VISIT_MIN

LONGEST_GAP = timedelta(hours=2)  # between two stops; longer is no drive (common practice)


class Attended(Protocol):
    """Who was where from when to when; moments are UTC."""

    @property
    def site_id(self) -> str: ...  # noqa: D102
    @property
    def technician_id(self) -> str: ...  # noqa: D102
    @property
    def day(self) -> date: ...  # noqa: D102
    @property
    def arrived_at(self) -> datetime | None: ...  # noqa: D102
    @property
    def left_at(self) -> datetime | None: ...  # noqa: D102
    @property
    def skipped(self) -> bool: ...  # noqa: D102
    @property
    def upkeep_kinds(self) -> tuple[str, ...]: ...  # noqa: D102
    @property
    def visit_id(self) -> str | None: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Stay:
    """A stay at a pool that has a beginning and an end; `minutes` between them."""

    site_id: str
    technician_id: str
    day: date
    minutes: float
    upkeep_kinds: tuple[str, ...] = ()
    visit_id: str | None = None


@dataclass(frozen=True, slots=True)
class Gap:
    """From one departure to the next arrival of the same technician on the same day."""

    from_site_id: str
    to_site_id: str
    technician_id: str
    left_at: datetime
    seconds: float


def stays_of(attended: Sequence[Attended]) -> tuple[list[Stay], int]:
    """Stays that can be believed, and the number of visits left out.

    Left out are visits without arrival or departure, of more than four hours, and those that
    reach beyond the same technician's next arrival.

    Parameters
    ----------
    attended
        Attendance in any order; skipped visits are neither used nor counted.
    """
    stays: list[Stay] = []
    left_out = 0
    for one, following in _with_next(attended):
        if one.skipped:
            continue
        if one.arrived_at is None or one.left_at is None:
            left_out += 1
            continue
        minutes = (one.left_at - one.arrived_at).total_seconds() / 60
        overlaps = following is not None and following < one.left_at
        if overlaps or not 0 < minutes <= LONG_VISIT_MIN:
            left_out += 1
            continue
        stays.append(_stay(one, minutes))
    return stays, left_out


def _stay(one: Attended, minutes: float) -> Stay:
    return Stay(one.site_id, one.technician_id, one.day, minutes, one.upkeep_kinds, one.visit_id)


def gaps_of(attended: Sequence[Attended]) -> list[Gap]:
    """Gaps between a departure and the next arrival, of up to two hours.

    A break or a stop at a shop may lie in a gap: whoever learns drive times from them must leave
    out what is far from the map's own time.
    """
    ordered = sorted((one for one in attended if one.arrived_at), key=_key)
    gaps = []
    for before, after in pairwise(ordered):
        same_day = (before.technician_id, before.day) == (after.technician_id, after.day)
        if not same_day or before.left_at is None or after.arrived_at is None:
            continue
        gap = after.arrived_at - before.left_at
        if timedelta(0) < gap <= LONGEST_GAP and before.site_id != after.site_id:
            gaps.append(
                Gap(
                    before.site_id,
                    after.site_id,
                    before.technician_id,
                    before.left_at,
                    gap.total_seconds(),
                )
            )
    return gaps


def _with_next(attended: Sequence[Attended]) -> Iterator[tuple[Attended, datetime | None]]:
    """Each visit with the same technician's next arrival of that day."""
    ordered = sorted(attended, key=_key)
    for place, one in enumerate(ordered):
        following = None
        if place + 1 < len(ordered):
            after = ordered[place + 1]
            if (after.technician_id, after.day) == (one.technician_id, one.day):
                following = after.arrived_at
        yield one, following


def _key(one: Attended) -> tuple[str, date, float, str]:
    at = one.arrived_at.timestamp() if one.arrived_at else 0.0
    return (one.technician_id, one.day, at, one.site_id)
