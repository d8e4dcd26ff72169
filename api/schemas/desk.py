"""JSON of the week's desk: edits, versions, locks, proposals, comparisons, the check list."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from api.schemas.plan import WeekPlanOut
from dispatch.actions.edit_plan import Edited
from dispatch.actions.plan_again import Proposal
from dispatch.actions.plan_versions import Trail
from dispatch.edits.checklist import Point, State
from dispatch.edits.compare import Difference, Figures, Where
from dispatch.edits.locks import Lock, LockKind
from dispatch.edits.moves import Carry, Edit, Move, TakeOut
from dispatch.planning.check import Violation


class MoveIn(BaseModel):
    """Bring a visit to a technician's day, from wherever it is."""

    deed: Literal["move"] = "move"
    visit_id: str
    technician_id: str
    day: date
    position: int | None = Field(
        default=None, ge=0, description="stops before it there; left out: where it fits best"
    )


class TakeOutIn(BaseModel):
    """Take a visit out of its route."""

    deed: Literal["take-out"]
    visit_id: str


class CarryIn(BaseModel):
    """Let upkeep ride on a visit, or put it off (no visit)."""

    deed: Literal["carry"]
    upkeep_id: str
    visit_id: str | None = None


class EditsIn(BaseModel):
    """Steps that become one new version together, or none of them does."""

    version: int = Field(ge=0, description="of the plan that was seen; 0 where it has none")
    edits: list[Annotated[MoveIn | TakeOutIn | CarryIn, Field(discriminator="deed")]] = Field(
        min_length=1, max_length=500
    )
    save: bool = Field(default=True, description="false: only tell what the plan would be")

    @property
    def steps(self) -> list[Edit]:
        """The steps as the desk takes them."""
        return [_step(one) for one in self.edits]


class VersionIn(BaseModel):
    """The version of the plan that was seen."""

    version: int = Field(ge=0)


class TakeIn(VersionIn):
    """The version of the plan, and which proposal was seen beside it."""

    proposal: str = Field(default="", description="its mark; any proposal where it is empty")


class LockModel(BaseModel):
    """A lock: of a visit, of a day, or of a technician's day."""

    kind: LockKind
    visit_id: str | None = None
    technician_id: str | None = None
    day: date | None = None

    @property
    def lock(self) -> Lock:
        """The lock; raises InvalidValue where it names more or less than it needs."""
        return Lock(self.kind, self.visit_id, self.technician_id, self.day)

    @classmethod
    def of(cls, lock: Lock) -> LockModel:
        """The JSON of a lock."""
        return cls(
            kind=lock.kind,
            visit_id=lock.visit_id,
            technician_id=lock.technician_id,
            day=lock.day,
        )


class MovedOut(BaseModel):
    """A visit that stands elsewhere in the other plan."""

    visit_id: str
    site_id: str
    before: Where | None
    after: Where | None
    words: str


class DifferenceOut(BaseModel):
    """Two plans side by side; `shifted` are the visits that a customer notices."""

    before: Figures
    after: Figures
    moved: list[MovedOut]
    shifted: int

    @classmethod
    def of(cls, found: Difference) -> DifferenceOut:
        """The JSON of a comparison."""
        moved = [
            MovedOut(
                visit_id=one.visit_id,
                site_id=one.site_id,
                before=one.before,
                after=one.after,
                words=one.words,
            )
            for one in found.moved
        ]
        return cls(before=found.before, after=found.after, moved=moved, shifted=len(found.shifted))


class EditedOut(BaseModel):
    """A plan after an edit; `new` are the rules that it breaks and the one before did not."""

    version: int
    what: str
    broken: list[Violation]
    sentences: list[str]
    new: list[str]
    left_out: list[str]
    difference: DifferenceOut
    plan: WeekPlanOut

    @classmethod
    def of(cls, done: Edited) -> EditedOut:
        """The JSON of an edit."""
        return cls(
            version=done.version,
            what=done.what,
            broken=list(done.broken),
            sentences=list(done.sentences),
            new=list(done.new),
            left_out=list(done.left_out),
            difference=DifferenceOut.of(done.difference),
            plan=WeekPlanOut.of(done.plan),
        )


class DeskOut(BaseModel):
    """Where the plan of a week stands; `undo` and `redo` say what they would do."""

    version: int
    undo: str
    redo: str
    who: str
    at: datetime | None
    broken: list[str]
    locks: list[LockModel]

    @classmethod
    def of(cls, trail: Trail, broken: Iterable[str], locks: Iterable[Lock]) -> DeskOut:
        """The JSON of a desk."""
        return cls(
            version=trail.version,
            undo=trail.undo,
            redo=trail.redo,
            who=trail.who,
            at=trail.at,
            broken=list(broken),
            locks=[LockModel.of(one) for one in locks],
        )


class VersionOut(BaseModel):
    """One version of a plan: what was done, by whom, when."""

    number: int
    what: str
    who: str
    at: datetime


class ProposalOut(BaseModel):
    """A plan beside the present one; it can be taken while `is_current`."""

    base: int
    mark: str
    is_current: bool
    at: datetime
    difference: DifferenceOut
    plan: WeekPlanOut

    @classmethod
    def of(cls, found: Proposal, mark: str) -> ProposalOut:
        """The JSON of a proposal."""
        return cls(
            base=found.base,
            mark=mark,
            is_current=found.is_current,
            at=found.at,
            difference=DifferenceOut.of(found.difference),
            plan=WeekPlanOut.of(found.plan),
        )


class PointOut(BaseModel):
    """One point of the check list."""

    name: str
    question: str
    state: State
    answer: str
    lines: list[str]

    @classmethod
    def of(cls, point: Point) -> PointOut:
        """The JSON of a point."""
        return cls(
            name=point.name,
            question=point.question,
            state=point.state,
            answer=point.answer,
            lines=list(point.lines),
        )


def _step(one: MoveIn | TakeOutIn | CarryIn) -> Edit:
    if isinstance(one, MoveIn):
        return Move(one.visit_id, one.technician_id, one.day, one.position)
    if isinstance(one, CarryIn):
        return Carry(one.upkeep_id, one.visit_id)
    return TakeOut(one.visit_id)
