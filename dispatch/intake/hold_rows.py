"""A table of holds, read into values."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
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


def read_holds(
    text: str, known_site_ids: Collection[str], *, known: Iterable[Hold] = ()
) -> list[Hold]:
    """Read a table of holds, all of it or nothing.

    A hold needs a last day: it ends by itself, and a site whose hold nobody ends would be
    forgotten. Holds of one site may overlap, but not begin on the same day.

    Parameters
    ----------
    text
        CSV with the columns of HOLD_COLUMNS.
    known_site_ids
        Ids of the sites in the book.
    known
        The holds there are: of one of the same site and first day, a table without the column
        `reason` leaves the reason as it is, and an empty cell empties it.

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
    return holds if "reason" in table.names else _with_reasons(holds, known)


def _with_reasons(holds: Iterable[Hold], known: Iterable[Hold]) -> list[Hold]:
    """Holds of a table that says no reasons, with those that are known."""
    reasons = {(one.site_id, one.first_day): one.reason for one in known}
    return [replace(one, reason=reasons.get((one.site_id, one.first_day), "")) for one in holds]


def _read_hold(cells: Cells, known_site_ids: Collection[str]) -> Hold | None:
    cells.require(HOLD_COLUMNS)
    check_known(cells, "site_id", "site", known_site_ids)
    first = cells.read("first_day", parse_day, None)
    last = cells.read("last_day", parse_day, None)
    if cells.problems or first is None or last is None:
        return None
    site_id, reason = cells.text("site_id"), cells.text("reason")
    return cells.attempt("last_day", lambda: Hold(site_id, first, last, reason), None)
