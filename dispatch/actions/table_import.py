"""Taking in somebody's table of sites or technicians: columns matched, tried, then taken in."""

from __future__ import annotations

import hashlib
import json
import re
import secrets
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from sqlmodel import Session

from dispatch.actions import book
from dispatch.actions.gate_codes import with_new_codes
from dispatch.actions.lists import ListTable, site_list, technician_list
from dispatch.actions.versions import ANY_VERSION
from dispatch.errors import ChangedMeanwhile, ImportRejected, NotFound
from dispatch.intake.matching import Guess, guesses, renamed
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.intake.table import Column, RowProblem
from dispatch.intake.technician_rows import TECHNICIAN_COLUMNS
from dispatch.settings import Settings
from dispatch.words import _

KEPT_S = 24 * 3600  # seconds; an uploaded table that nobody took in is thrown away after a day


class Noun(StrEnum):
    """What a table may be of."""

    SITES = "sites"
    TECHNICIANS = "technicians"

    @property
    def columns(self) -> tuple[Column, ...]:
        """Our columns of such a table."""
        return SITE_COLUMNS if self is Noun.SITES else TECHNICIAN_COLUMNS


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that a table would write anew, as lists write both; a gate code shows neither."""

    id: str
    column: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Tried:
    """What a table would do, or did: ids that are new, changed, the same; or what is wrong.

    `cells` are those of the changed ones, in their order. `version` is another one as soon as the
    table would change other cells, or cells that somebody else has written meanwhile.
    """

    new: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    same: int = 0
    cells: tuple[Cell, ...] = ()
    version: str = ""
    problems: tuple[RowProblem, ...] = ()


def match_columns(noun: Noun, text: str) -> tuple[Guess, ...]:
    """What each heading of a table seems to be; raises ImportRejected without headings."""
    return guesses(text, noun.columns)


def own_columns(found: Sequence[Guess]) -> list[str] | None:
    """The columns of a table whose headings are ours, as of one exported here; None of another."""
    is_ours = all(one.heading == one.column for one in found)
    return [one.column for one in found] if is_ours else None


def try_table(
    session: Session, settings: Settings, noun: Noun, text: str, chosen: Sequence[str] | None
) -> Tried:
    """Read a table as the import would, and tell what it would do; nothing is stored.

    Parameters
    ----------
    chosen
        Our column for each heading, empty to leave it out; None where the headings are ours.

    Raises
    ------
    InvalidValue
        When a column is chosen twice.
    NoMap
        When an address is to be found and there is no street map.
    """
    try:
        ours = text if chosen is None else renamed(text, chosen)
        codes = set[str]()  # lists show no gate code, so that another one is asked for apart
        sealed = dict[str, str]()
        if noun is Noun.SITES:
            there, found = book.sites(session), book.sites_of_table(session, settings, ours)
            before, after = site_list(there), site_list(found)
            sealed = {one.id: one.gate_code for one in there}
            codes = with_new_codes(settings, found, sealed)
        else:
            before = technician_list(book.technicians(session))
            after = technician_list(book.technicians_of_table(session, settings, ours))
    except ImportRejected as error:
        return Tried(problems=tuple(one for one in error.problems if isinstance(one, RowProblem)))
    known = {str(row[0]): row for row in before.rows}
    new = [str(row[0]) for row in after.rows if row[0] not in known]
    cells = list[Cell]()
    for row in after.rows:
        if (one := str(row[0])) in known:
            cells += _other_cells(one, after.columns, known[one], row)
            cells += [Cell(one, "gate_code", "", "")] if one in codes else []
    changed = list(dict.fromkeys(one.id for one in cells))
    replaced = [sealed[one] for one in sorted(codes) if one in sealed]
    version = hashlib.sha256(repr((new, cells, replaced)).encode()).hexdigest()[:16]
    same = len(after.rows) - len(new) - len(changed)
    return Tried(tuple(new), tuple(changed), same, tuple(cells), version)


def _other_cells(
    id: str,  # noqa: A002 - as the column is called
    columns: Sequence[str],
    before: Sequence[object],
    after: Sequence[object],
) -> list[Cell]:
    return [
        Cell(id, column, _text(was), _text(cell))
        for column, was, cell in zip(columns, before, after, strict=True)
        if was != cell
    ]


def _text(cell: object) -> str:
    return "" if cell is None else str(cell)


def take_in_table(
    session: Session,
    settings: Settings,
    noun: Noun,
    text: str,
    chosen: Sequence[str] | None,
    *,
    looked_at: str = ANY_VERSION,
) -> Tried:
    """Take a table in, all or nothing; what is wrong with it comes back as data.

    Raises
    ------
    ChangedMeanwhile
        When `looked_at` is the version of a trial and the table would do something else by now.
    """
    tried = try_table(session, settings, noun, text, chosen)
    if not tried.problems:
        if looked_at not in {ANY_VERSION, tried.version}:
            raise ChangedMeanwhile(
                _(
                    "Somebody changed what the table would replace, after you had looked at what "
                    "would come of it; nothing was taken in. Try the table again and look."
                )
            )
        ours = text if chosen is None else renamed(text, chosen)
        take = book.import_sites if noun is Noun.SITES else book.import_technicians
        take(session, settings, ours)
    return tried


def problem_list(problems: Iterable[RowProblem]) -> ListTable:
    """The error report: line, column and value, what is wrong and how to mend it."""
    rows = []
    for one in problems:
        wrong, colon, mend = one.mend.rpartition(": ")
        rows.append((one.line, one.column, one.value, wrong if colon else one.mend, mend))
    return ListTable(("line", "column", "value", "wrong", "mend"), tuple(rows))


def keep_upload(settings: Settings, text: str) -> str:
    """Keep an uploaded table for the next step; return the name by which it is asked for."""
    folder = _folder(settings)
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.iterdir():
        if old.stat().st_mtime < time.time() - KEPT_S:
            old.unlink(missing_ok=True)
    name = secrets.token_hex(16)
    (folder / f"{name}.csv").write_text(text, encoding="utf-8", newline="")
    return name


def read_upload(settings: Settings, name: str) -> tuple[str, list[str] | None]:
    """An uploaded table and the columns chosen for it so far; raises NotFound."""
    file = _folder(settings) / f"{name}.csv"
    if not re.fullmatch(r"[0-9a-f]{32}", name) or not file.is_file():
        raise NotFound(_("That table was taken in, or is a day old: upload it again."))
    with file.open(encoding="utf-8", newline="") as text:
        content = text.read()
    choice = file.with_suffix(".json")
    return content, json.loads(choice.read_text()) if choice.is_file() else None


def keep_choice(settings: Settings, name: str, chosen: Sequence[str]) -> None:
    """Keep the columns chosen for an uploaded table."""
    read_upload(settings, name)
    (_folder(settings) / f"{name}.json").write_text(json.dumps(list(chosen)))


def drop_upload(settings: Settings, name: str) -> None:
    """Throw an uploaded table away; raises NotFound for a name that was never given out."""
    read_upload(settings, name)
    for suffix in (".csv", ".json"):
        (_folder(settings) / f"{name}{suffix}").unlink(missing_ok=True)


def _folder(settings: Settings) -> Path:
    return settings.data_dir / "imports"
