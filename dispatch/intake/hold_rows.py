"""A table of holds, read into values."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from dispatch.clock import parse_day
from dispatch.intake.cells import Cells, check_known
from dispatch.intake.table import Column, read_table, rejected
from dispatch.sites import Hold
from dispatch.words import _

HOLD_COLUMNS: tuple[Column, ...] = (
    Column("site_id", "the id of the site that gets no visits", "S017", required=True),
    Column("first_day", "the first day without visits", "2026-12-21", required=True),
    Column("last_day", "the last day without visits", "2027-01-03", required=True),
    Column("reason", "why, in words", "away over the holidays"),
)


def read_holds(text: str, known_site_ids: Collection[str]) -> list[Hold]:
    """Read a table of holds, all of it or nothing.

    A hold needs a last day: it ends by itself, and a site whose hold nobody ends would be
    forgotten. Holds of one site may overlap, but not begin on the same day.

    Parameters
    ----------
    text
        CSV with the columns of HOLD_COLUMNS.
    known_site_ids
        Ids of the sites in the book.

    Returns
    -------
    list of Hold
        In the order of the table.

    Raises
    ------
    ImportRejected
        With every problem of every row in `problems`.
    """
    table = read_table(text, HOLD_COLUMNS)
    problems = list(table.problems)
    holds: list[Hold] = []
    first_lines: dict[tuple[str, date], int] = {}
    for row in table.rows:
        cells = Cells(row)
        hold = _read_hold(cells, known_site_ids)
        if hold is not None:
            line = first_lines.setdefault((hold.site_id, hold.first_day), row.line)
            if line != row.line:
                mend = _("A hold of {site} from this day stands on line {line}: keep one.").format(
                    site=hold.site_id, line=line
                )
                cells.complain("first_day", mend)
            holds.append(hold)
        problems.extend(cells.problems)
    if problems:
        raise rejected(problems)
    return holds


def _read_hold(cells: Cells, known_site_ids: Collection[str]) -> Hold | None:
    cells.require(HOLD_COLUMNS)
    check_known(cells, "site_id", "site", known_site_ids)
    first = cells.read("first_day", parse_day, None)
    last = cells.read("last_day", parse_day, None)
    if cells.problems or first is None or last is None:
        return None
    site_id, reason = cells.text("site_id"), cells.text("reason")
    return cells.attempt("last_day", lambda: Hold(site_id, first, last, reason), None)
