"""A table of technicians, read into values."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from dispatch.clock import DAY_S, WEEKDAYS, parse_span, parse_time
from dispatch.intake.cells import Cells, Ids, read_place
from dispatch.intake.kept_cells import Known, with_known
from dispatch.intake.parse import (
    parse_days,
    parse_id,
    parse_list,
    parse_minutes,
    parse_number,
)
from dispatch.intake.table import Column, read_table, rejected
from dispatch.intake.technician_rule_cells import TECHNICIAN_RULE_COLUMNS, read_technician_rules
from dispatch.places import Place
from dispatch.technicians import Break, Shift, Technician
from dispatch.words import _

DEFAULT_PAYLOAD_KG = 400.0  # kg; a half-ton pickup less people and fixed outfit, common practice
SHIFT_COLUMNS = tuple(name.casefold() for name in WEEKDAYS)

TECHNICIAN_COLUMNS: tuple[Column, ...] = (
    Column("id", "a short name that never changes", "T1", required=True),
    Column("name", "the technician's name", "R. Example", required=True),
    Column("start_address", "where the truck's day begins", "12 Yard Lane"),
    Column("start_lat", "latitude of the start in degrees, instead of an address", "33.4502"),
    Column("start_lon", "longitude of the start in degrees", "-111.9301"),
    Column("end_address", "where the day ends; empty where it began", "12 Yard Lane"),
    Column("end_lat", "latitude of the end in degrees, instead of an address", "33.4502"),
    Column("end_lon", "longitude of the end in degrees", "-111.9301"),
    *(
        Column(
            name.casefold(),
            "the shift on {weekday}, 20:00-02:00 past midnight; empty for none",
            "07:00-15:30",
            named=(("weekday", name),),
        )
        for name in WEEKDAYS
    ),
    Column("break_min", "minutes of the meal; empty for none", "30"),
    Column("break_from", "the meal begins at this time or later", "11:00"),
    Column("break_to", "the meal begins at this time or earlier", "13:00"),
    Column("skills", "what the technician may do besides ordinary visits", "media;acid-wash"),
    Column(
        "payload_kg",
        "what the truck may carry, kg; empty: {usual}",
        "400",
        named=(("usual", f"{DEFAULT_PAYLOAD_KG:.0f}"),),
    ),
    Column("days_off", "days without work", "2026-12-24;2026-12-28"),
    *TECHNICIAN_RULE_COLUMNS,
)


def read_technicians(
    text: str, find_place: Callable[[str], Place], *, known: Known | None = None
) -> list[Technician]:
    """Read a table of technicians, all of it or nothing.

    Parameters
    ----------
    text
        CSV with the columns of TECHNICIAN_COLUMNS.
    find_place
        Finds the place of an address; raises AddressNotFound. Called for rows without
        coordinates only; any other error of it ends the reading.
    known
        Cells of the technicians there are, by id: what a column that the table lacks leaves as it
        is.

    Returns
    -------
    list of Technician
        In the order of the table.

    Raises
    ------
    ImportRejected
        With every problem of every row in `problems`.
    """
    table = read_table(text, TECHNICIAN_COLUMNS, known or {})
    problems = list(table.problems)
    technicians: list[Technician] = []
    ids = Ids(known or {})
    for row in with_known(table, known or {}):
        cells = Cells(row)
        technician = _read_technician(cells, find_place)
        ids.check(cells)
        problems.extend(cells.problems)
        if technician is not None:
            technicians.append(technician)
    if problems:
        raise rejected(problems)
    return technicians


def _read_technician(cells: Cells, find_place: Callable[[str], Place]) -> Technician | None:
    cells.require(TECHNICIAN_COLUMNS)
    technician_id = cells.read("id", parse_id, "")
    start = read_place(cells, "start_", "start_address", find_place)
    has_end = any(cells.text(name) for name in ("end_address", "end_lat", "end_lon"))
    end = read_place(cells, "end_", "end_address", find_place) if has_end else start
    shifts = tuple(cells.read(name, _parse_shift, None) for name in SHIFT_COLUMNS)
    meal = _read_break(cells, shifts)
    skills = cells.read("skills", parse_list, frozenset[str]())
    payload_kg = cells.read("payload_kg", parse_number, DEFAULT_PAYLOAD_KG)
    days_off = cells.read("days_off", parse_days, frozenset[date]())
    rules = read_technician_rules(cells, find_place)
    if not any(cells.text(name) for name in SHIFT_COLUMNS):
        cells.complain(
            "mon", _("There is no shift on any weekday: give at least one, as 07:00-15:30.")
        )
    if payload_kg < 0:
        cells.complain(
            "payload_kg",
            _("A payload of {payload} kg is below zero: give 0 or more.").format(
                payload=payload_kg
            ),
        )
    if cells.problems or start is None or end is None:
        return None
    return cells.attempt(
        "id",
        lambda: Technician(
            id=technician_id,
            name=cells.text("name"),
            shifts=shifts,
            start=start,
            end=end,
            meal=meal,
            skills=skills,
            payload_kg=payload_kg,
            days_off=days_off,
            overtime=rules.overtime,
            slack_share=rules.slack_share,
            crew=rules.crew,
            supply=rules.supply,
            chemicals_most_kg=rules.chemicals_most_kg,
        ),
        None,
    )


def _parse_shift(text: str) -> Shift:
    """A shift; an end at or before the start lies on the day after."""
    start_s, end_s = parse_span(text)
    return Shift(start_s, end_s + DAY_S if end_s == start_s else end_s)


def _read_break(cells: Cells, shifts: Iterable[Shift | None]) -> Break | None:
    names = ("break_min", "break_from", "break_to")
    empty = [name for name in names if not cells.text(name)]
    if len(empty) == len(names):
        return None
    for name in empty:
        cells.complain(
            name,
            _("A break needs {names}: fill all three, or none of them.").format(
                names=", ".join(names)
            ),
        )
    minutes = cells.read("break_min", parse_minutes, None)
    earliest_s = cells.read("break_from", parse_time, None)
    latest_s = cells.read("break_to", parse_time, None)
    if minutes is None or earliest_s is None or latest_s is None:
        return None
    is_night = any(shift and shift.end_s > DAY_S for shift in shifts)
    if is_night and latest_s < earliest_s:  # past midnight
        latest_s += DAY_S
    return cells.attempt("break_min", lambda: Break(minutes, earliest_s, latest_s), None)
