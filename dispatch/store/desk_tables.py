"""Tables of the week's desk: versions of its plan, a proposal beside it, and locks.

They do not hang on the plan's row, which is written anew with every version.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, DateTime, LargeBinary, String
from sqlmodel import Field, SQLModel

from dispatch.edits.locks import LockKind
from dispatch.store.metadata import METADATA

assert METADATA.naming_convention  # noqa: S101 - keys of tables made without it have no names

WEEK_LENGTH = 8
WHO_LENGTH = 200
WHAT_LENGTH = 1000


class KeptPlanFields(SQLModel):
    """A whole plan as it stood: who made it, when, with what words.

    `plan` is the plan with the upkeep it was made with, as compressed JSON; `broken` the rules it
    breaks. `at` is UTC.
    """

    at: datetime = Field(sa_type=DateTime)
    who: str = Field(max_length=WHO_LENGTH)
    what: str = Field(max_length=WHAT_LENGTH)
    inputs_digest: str
    plan: bytes = Field(sa_type=LargeBinary)
    broken: list[dict[str, Any]] = Field(sa_type=JSON)


class PlanVersionRow(KeptPlanFields, table=True):
    """Table of the versions of the weeks' plans; the highest number is the present one.

    `step` is what led to the plan, in words, undoing and redoing in between left out. `undo_to` and
    `redo_to` are numbers of versions whose plans come back when that is asked for.
    """

    __tablename__ = "plan_version"

    week: str = Field(primary_key=True, max_length=WEEK_LENGTH)
    number: int = Field(primary_key=True, ge=1)
    step: str = Field(max_length=WHAT_LENGTH)
    undo_to: int | None = None
    redo_to: int | None = None


class PlanProposalRow(KeptPlanFields, table=True):
    """Table of the proposals, one for a week at most; `base` is the version it was made from."""

    __tablename__ = "plan_proposal"

    week: str = Field(primary_key=True, max_length=WEEK_LENGTH)
    base: int = Field(ge=0)


class PlanLockRow(SQLModel, table=True):
    """Table of the locks."""

    __tablename__ = "plan_lock"

    week: str = Field(primary_key=True, max_length=WEEK_LENGTH)
    kind: LockKind = Field(primary_key=True, sa_type=String)
    subject: str = Field(primary_key=True, max_length=WHO_LENGTH)
