"""A table of one-off work, read into values."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import date

from dispatch.clock import parse_day
from dispatch.errors import InvalidValue
from dispatch.intake.cells import EARLIEST_DAY, Cells, Ids, check_known
from dispatch.intake.kept_cells import Known, with_known
from dispatch.intake.parse import parse_choice, parse_id, parse_list, parse_number, parse_yes_no
from dispatch.intake.parse_agreed import (
    parse_count,
    parse_rising_days,
    parse_several_minutes,
    parse_windows,
)
from dispatch.intake.table import Column, Row, read_table, rejected
from dispatch.one_offs import LONGEST_SPAN, OneOff
from dispatch.service_plan import Priority, VisitKind
from dispatch.windows import ALL_DAY
from dispatch.words import _

ONE_OFF_COLUMNS: tuple[Column, ...] = (
    Column("id", "a short name that never changes", "J12", required=True),
    Column("site_id", "the id of the site", "S017", required=True),
    Column("title", "what is to be done", "Bring the green pool back", required=True),
    Column("kind", "green-pool, follow-up or one-off; empty: one-off", "green-pool"),
    Column("first_day", "the first day on which it may be done", "2026-12-01", required=True),
    Column("last_day", "the last day on which it may be done", "2026-12-04", required=True),
    Column("minutes", "minutes of its visit, or of each of them", "180;30;30", required=True),
    Column("consecutive", "day after day: yes or no; empty: yes for green-pool", "yes"),
    Column("skills", "what the technician must be able to do", "heater"),
    Column("persons", "how many persons it needs; empty: 1", "2"),
    Column(
        "windows", "when it may begin; empty: as agreed for the site", "07:00-09:00;13:00-15:00"
    ),
    Column("priority", "high, normal or can-wait; empty: normal", "high"),
    Column("parts", "what to load", "pump, two unions"),
    Column("mass_kg", "what a visit takes from the payload, kg", "18"),
    Column("chemicals_kg", "regulated chemicals a visit takes, kg gross", "40"),
    Column("technician", "id of the only technician who may come", "T1"),
    Column("note", "anything else", "the owner wants a call before"),
    Column("visited_on", "days on which visits of it took place", "2026-12-01;2026-12-02"),
    Column("done_on", "when it was finished or given up", "2026-12-03"),
)

STAND_IN = OneOff(  # where the days are wrong, so that the figures are looked at all the same
    "-", "-", "-", VisitKind.ONE_OFF, EARLIEST_DAY, EARLIEST_DAY + LONGEST_SPAN, (1,)
)


def read_one_offs(
    text: str,
    known_site_ids: Collection[str],
    *,
    known_technicians: Collection[str] | None = None,
    today: date | None = None,
    known: Known | None = None,
) -> list[OneOff]:
    """Read a table of one-off work, all of it or nothing.

    Parameters
    ----------
    text
        CSV with the columns of ONE_OFF_COLUMNS.
    known_site_ids
        Ids of the sites in the book.
    known_technicians
        Ids that a technician must be among; None leaves that unchecked.
    today
        No visit may have been made after it; None leaves that unchecked.
    known
        Cells of the work there is, by id: what a column that the table lacks leaves as it is.

    Raises
    ------
    ImportRejected
        With every problem of every row in `problems`.
    """
    table = read_table(text, ONE_OFF_COLUMNS, known or {})
    problems = list(table.problems)
    works: list[OneOff] = []
    ids = Ids(known or {})
    for row in with_known(table, known or {}):
        cells = Cells(row)
        check_known(cells, "site_id", "site", known_site_ids)
        check_known(cells, "technician", "technician", known_technicians)
        work = _read_one_off(cells, today)
        ids.check(cells)
        problems.extend(cells.problems)
        if work is not None:
            works.append(work)
    if problems:
        raise rejected(problems)
    return works


def one_off_of(given: Mapping[str, str]) -> OneOff:
    """One piece of work of the cells of a form, by the names of ONE_OFF_COLUMNS.

    Raises
    ------
    InvalidValue
        With every fault, so that nobody mends one to meet the next.
    """
    row = Row(1, {one.name: given.get(one.name, "").strip() for one in ONE_OFF_COLUMNS})
    cells = Cells(row)
    work = _read_one_off(cells, None)
    if work is None:
        raise InvalidValue(" ".join(one.mend for one in cells.problems))
    return work


def _read_one_off(cells: Cells, today: date | None) -> OneOff | None:
    cells.require(ONE_OFF_COLUMNS)
    work_id = cells.read("id", parse_id, "")
    kind = cells.read("kind", parse_choice(VisitKind), VisitKind.ONE_OFF)
    first, last = (cells.read(name, parse_day, None) for name in ("first_day", "last_day"))
    minutes = cells.read("minutes", parse_several_minutes, tuple[int, ...]())
    consecutive = cells.read("consecutive", parse_yes_no, kind is VisitKind.GREEN_POOL)
    skills = cells.read("skills", parse_list, frozenset[str]())
    persons = cells.read("persons", parse_count, 1)
    windows = cells.read("windows", parse_windows, ALL_DAY)
    priority = cells.read("priority", parse_choice(Priority), Priority.NORMAL)
    mass_kg = cells.read("mass_kg", parse_number, 0.0)
    chemicals_kg = cells.read("chemicals_kg", parse_number, 0.0)
    visited_on = cells.read("visited_on", parse_rising_days, tuple[date, ...]())
    done_on = cells.past_day("done_on", today)
    if today is not None and visited_on and visited_on[-1] > today:
        cells.complain(
            "visited_on",
            _("{visited} lies after today, {today}: correct it.").format(
                visited=visited_on[-1], today=today
            ),
        )
    site_id, title = cells.text("site_id"), cells.text("title")
    plain = STAND_IN
    if work_id and site_id and title and first is not None and last is not None:
        plain = cells.attempt(
            "last_day", lambda: OneOff(work_id, site_id, title, kind, first, last, (1,)), plain
        )
    plain = replace(
        plain,
        consecutive=consecutive,
        skills=skills,
        windows=windows,
        priority=priority,
        parts=cells.text("parts"),
        technician_id=cells.text("technician") or None,
        note=cells.text("note"),
        visited_on=visited_on,
        done_on=done_on,
    )
    return _with_numbers(cells, plain, minutes, persons, mass_kg, chemicals_kg)


def _with_numbers(
    cells: Cells,
    work: OneOff,
    minutes: tuple[int, ...],
    persons: int,
    mass_kg: float,
    chemicals_kg: float,
) -> OneOff | None:
    """Fill in one figure after the other, so that each is told of its own column."""
    if minutes:
        work = cells.attempt("minutes", lambda: replace(work, minutes=minutes), work)
    work = cells.attempt("persons", lambda: replace(work, crew=persons), work)
    work = cells.attempt("mass_kg", lambda: replace(work, mass_kg=mass_kg), work)
    work = cells.attempt("chemicals_kg", lambda: replace(work, chemicals_kg=chemicals_kg), work)
    return None if cells.problems else work
