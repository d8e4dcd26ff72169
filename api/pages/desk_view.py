"""The desk beside a week's plan as pages show it: locks, steps to undo, a proposal."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from dispatch.actions import edit_plan, plan_versions, week_check, week_desk
from dispatch.actions.plan_again import proposal_mark
from dispatch.actions.plan_versions import Trail
from dispatch.actions.week_check import PRESENT, PROPOSAL, Compared
from dispatch.clock import IsoWeek
from dispatch.edits.locks import Lock, LockKind
from dispatch.errors import NotFound


@dataclass(frozen=True, slots=True)
class DeskView:
    """What can be done with a plan: undo, redo, locks, a proposal that waits for an answer."""

    trail: Trail
    locks: tuple[Lock, ...]
    broken: tuple[str, ...]
    proposal: Compared | None
    mark: str = ""  # of that proposal

    def is_stop_locked(self, visit_id: str) -> bool:
        """Whether a stop is locked by itself."""
        return any(one.visit_id == visit_id for one in self.locks)

    def is_day_locked(self, day: date) -> bool:
        """Whether a whole day is locked."""
        return any(one.kind is LockKind.DAY and one.day == day for one in self.locks)

    def is_route_locked(self, technician_id: str, day: date) -> bool:
        """Whether a technician's day is locked by itself."""
        return any((one.technician_id, one.day) == (technician_id, day) for one in self.locks)


def desk_view(session: Session, week: IsoWeek) -> DeskView:
    """The desk of a planned week."""
    try:
        proposal = week_check.compare_plans(session, week, PRESENT, PROPOSAL)
    except NotFound:
        proposal = None
    return DeskView(
        plan_versions.trail(session, week),
        tuple(week_desk.locks(session, week)),
        tuple(edit_plan.broken_sentences(session, week)),
        proposal,
        proposal_mark(session, week) if proposal else "",
    )
