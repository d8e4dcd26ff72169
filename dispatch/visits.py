"""Visits due: what each site is owed in one ISO week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dispatch.clock import IsoWeek


class DueBecause(StrEnum):
    """Why a site is owed visits in a week."""

    RHYTHM = "rhythm"  # its turn has come
    FIRST = "first"  # it has never been visited
    OVERDUE = "overdue"  # its turn came in an earlier week and was missed


@dataclass(frozen=True, slots=True)
class VisitsDue:
    """Visits one site is owed in one week.

    `patterns` are the choices of days, each a rising tuple with one day per visit; planning takes
    exactly one of them. `note` says in words what was bent (a holiday, a hold), or is empty.
    """

    site_id: str
    week: IsoWeek
    patterns: tuple[tuple[date, ...], ...]
    service_min: int
    because: DueBecause = DueBecause.RHYTHM
    note: str = ""

    @property
    def count(self) -> int:
        """Number of visits owed."""
        return len(self.patterns[0])

    def visit_id(self, number: int) -> str:
        """Stable name of the visit `number` (1, 2 ...), as 'S017/2026-W49/1'."""
        return f"{self.site_id}/{self.week}/{number}"
