"""Locks of a week: what planning again may not change.

A locked stop keeps its technician and day, its place in the order may change. A locked day or
route stays as it is, stop by stop. Hand edits are free: a lock holds the planner, not a person.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from dispatch.clock import parse_day
from dispatch.edits.draft import CellKey, Draft
from dispatch.errors import InvalidValue
from dispatch.planning.check import Violation
from dispatch.planning.problem import Demand, Problem
from dispatch.words import N_, _, worded


class LockKind(StrEnum):
    """What a lock holds."""

    STOP = "stop"
    DAY = "day"
    ROUTE = "route"


@dataclass(frozen=True, slots=True)
class Lock:
    """One lock: of a visit, of a day, or of a technician's day.

    Raises
    ------
    InvalidValue
        When it names more or less than its kind needs.
    """

    kind: LockKind
    visit_id: str | None = None
    technician_id: str | None = None
    day: date | None = None

    def __post_init__(self) -> None:
        named = (bool(self.visit_id), bool(self.technician_id), self.day is not None)
        needed = {
            LockKind.STOP: (True, False, False),
            LockKind.DAY: (False, False, True),
            LockKind.ROUTE: (False, True, True),
        }[self.kind]
        if named != needed:
            raise InvalidValue(
                _("A lock of a {kind} names {needs}, and nothing else.").format(
                    kind=worded(self.kind), needs=_(LOCK_NEEDS[self.kind])
                )
            )

    @property
    def subject(self) -> str:
        """What it holds, as one text; `of_subject` reads it."""
        if self.kind is LockKind.STOP:
            return self.visit_id or ""
        day = self.day.isoformat() if self.day else ""
        return f"{self.technician_id} {day}" if self.kind is LockKind.ROUTE else day

    @classmethod
    def of_subject(cls, kind: LockKind, subject: str) -> Lock:
        """The lock whose `subject` it is; raises InvalidValue where a day is none."""
        if kind is LockKind.STOP:
            return cls(kind, visit_id=subject)
        technician_id, _, day = subject.rpartition(" ")
        return cls(kind, technician_id=technician_id or None, day=parse_day(day))


LOCK_NEEDS = {
    LockKind.STOP: N_("one visit"),
    LockKind.DAY: N_("one day"),
    LockKind.ROUTE: N_("one technician and one day"),
}


@dataclass(frozen=True, slots=True)
class Kept:
    """What planning again leaves alone: whole cells, and visits in theirs."""

    cells: frozenset[CellKey]
    visits: Mapping[str, CellKey]

    def within(self, cells: Collection[CellKey]) -> Kept:
        """What is kept of these cells alone: nothing is kept where nobody works any more."""
        visits = {name: key for name, key in self.visits.items() if key in cells}
        return Kept(self.cells & frozenset(cells), visits)


def kept_by(
    locks: Iterable[Lock],
    draft: Draft,
    broken: Sequence[Violation] = (),
    alone: Collection[CellKey] = (),
    cells: Collection[CellKey] = (),
) -> Kept:
    """What locks keep of a draft, beside the cells that are left `alone` in any case.

    A locked stop that breaks a rule where it stands could not be planned there again, so its whole
    route is kept as it is. A locked day keeps all of its `cells`: who has no stop gets none. A lock
    of a stop that is not in the draft keeps nothing.
    """
    kept = set(alone)
    visits = dict[str, CellKey]()
    held = list(locks)
    days = {lock.day for lock in held if lock.kind is LockKind.DAY}
    routes = {(lock.technician_id, lock.day) for lock in held if lock.kind is LockKind.ROUTE}
    stops = {lock.visit_id for lock in held if lock.kind is LockKind.STOP}
    kept |= {key for key in {*draft, *cells} if key[1] in days or key in routes}
    for key, items in draft.items():
        for item in items:
            if item.visit_id in stops:
                visits[item.visit_id] = key
    kept |= {key for name, key in visits.items() if _is_broken(name, key, broken)}
    return Kept(frozenset(kept), {n: key for n, key in visits.items() if key not in kept})


def with_kept(problem: Problem, visits: Mapping[str, CellKey]) -> Problem:
    """The problem in which these visits stay with a technician and day."""
    return replace(problem, demands=tuple(_keeping(one, visits) for one in problem.demands))


def _keeping(demand: Demand, visits: Mapping[str, CellKey]) -> Demand:
    if not any(visit_id in visits for visit_id in demand.visit_ids):
        return demand
    return replace(demand, kept=tuple(visits.get(visit_id) for visit_id in demand.visit_ids))


def _is_broken(visit_id: str, key: CellKey, broken: Sequence[Violation]) -> bool:
    """Whether a rule is broken by the visit, by a sister of its site, or by its whole route."""
    sisters = visit_id.rpartition("/")[0]
    return any(
        one.subject.rpartition("/")[0] == sisters
        or (one.technician_id, one.day) == key
        or one.subject == visit_id
        for one in broken
    )
