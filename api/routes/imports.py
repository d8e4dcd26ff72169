"""Taking in somebody's table: its columns matched, tried, taken in."""

from __future__ import annotations

import json
from typing import Annotated

from fastapi import APIRouter, Form
from pydantic import BaseModel

from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from dispatch.actions import table_import
from dispatch.actions.table_import import Noun, Tried
from dispatch.actions.versions import ANY_VERSION
from dispatch.errors import InvalidValue
from dispatch.words import _

router = APIRouter(prefix="/import", tags=["import"])

Columns = Annotated[
    str, Form(description="JSON list: our column for each heading, empty to leave it out")
]

Version = Annotated[
    str, Form(max_length=64, description="that of the trial; * takes in whatever would come of it")
]


class GuessOut(BaseModel):
    """One heading: the column it seems to be (empty: none), how sure (0 to 100), first values."""

    heading: str
    column: str
    score: float
    samples: list[str]


class BadCellOut(BaseModel):
    """What is wrong with one cell and how to mend it."""

    line: int
    column: str
    value: str
    mend: str


class CellOut(BaseModel):
    """A cell that the table writes anew, as lists write both; of a gate code both are empty."""

    id: str
    column: str
    before: str
    after: str


class TriedOut(BaseModel):
    """What a table would do, or did; with `problems` nothing of it is taken in.

    `cells` are those of the sites or technicians that are changed.

    `version`, sent along when the table is taken in, lets it do what was tried and nothing else.
    """

    new: list[str]
    changed: list[str]
    same: int
    cells: list[CellOut]
    version: str
    problems: list[BadCellOut]

    @classmethod
    def of(cls, tried: Tried) -> TriedOut:
        """The JSON of a try."""
        problems = [
            BadCellOut(line=one.line, column=one.column, value=one.value, mend=one.mend)
            for one in tried.problems
        ]
        return cls(
            new=list(tried.new),
            changed=list(tried.changed),
            same=tried.same,
            cells=[
                CellOut(id=one.id, column=one.column, before=one.before, after=one.after)
                for one in tried.cells
            ],
            version=tried.version,
            problems=problems,
        )


@router.post("/{noun}/match")
def match_columns(noun: Noun, text: UploadedText) -> list[GuessOut]:
    """What each heading of a CSV or XLSX table seems to be; nothing is stored."""
    return [
        GuessOut(heading=one.heading, column=one.column, score=one.score, samples=list(one.samples))
        for one in table_import.match_columns(noun, text)
    ]


@router.post("/{noun}/try")
def try_table(
    session: ReadSession, settings: SettingsDep, noun: Noun, text: UploadedText, columns: Columns
) -> TriedOut:
    """What the table would do; nothing is stored."""
    chosen = _chosen(columns)
    return TriedOut.of(table_import.try_table(session, settings, noun, text, chosen))


@router.post("/{noun}/take")
def take_table(
    session: WriteSession,
    settings: SettingsDep,
    noun: Noun,
    text: UploadedText,
    columns: Columns,
    version: Version = ANY_VERSION,
) -> TriedOut:
    """Take the table in, all or nothing; refused (412) where a trial showed something else."""
    chosen = _chosen(columns)
    return TriedOut.of(
        table_import.take_in_table(session, settings, noun, text, chosen, looked_at=version)
    )


def _chosen(columns: str) -> list[str]:
    try:
        found = json.loads(columns)
    except ValueError:
        found = None
    if not isinstance(found, list) or not all(isinstance(one, str) for one in found):
        raise InvalidValue(
            _(
                "The columns '{columns}' are no JSON list of texts: give one for each heading."
            ).format(columns=columns[:60])
        )
    return found
