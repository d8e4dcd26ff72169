"""Lists as tables with named columns, to be printed, or handed over as CSV or JSON.

Sites, technicians and holds have the columns that their import reads, so that a list can be
changed in a spreadsheet and taken in again; gate codes alone are never written.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from dispatch.actions.agreement_lists import (
    one_off_cells,
    service_plan_cells,
    technician_rule_cells,
)
from dispatch.actions.equipment_lists import equipment_cells
from dispatch.clock import format_time
from dispatch.errors import InvalidValue
from dispatch.intake.hold_rows import HOLD_COLUMNS
from dispatch.intake.one_off_rows import ONE_OFF_COLUMNS
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.intake.table import Column, guarded
from dispatch.intake.technician_rows import SHIFT_COLUMNS, TECHNICIAN_COLUMNS
from dispatch.one_offs import OneOff
from dispatch.sites import Hold, Site
from dispatch.technicians import Break, Technician
from dispatch.words import _

Cell = str | int | float | bool | date | None


@dataclass(frozen=True, slots=True)
class ListTable:
    """Rows of cells below named columns.

    Raises
    ------
    InvalidValue
        When a row has more or fewer cells than there are columns.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise InvalidValue(
                    _("A row of {number} cells does not fit {columns} columns: {row}.").format(
                        number=len(row), columns=len(self.columns), row=row
                    )
                )


def as_csv(table: ListTable) -> str:
    """The table as CSV (RFC 4180): a heading line, then one line for each row; None is empty.

    A text that a spreadsheet would take for a formula gets an apostrophe before it, which the
    import takes away again.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(table.columns)
    writer.writerows([_harmless(cell) for cell in row] for row in table.rows)
    return text.getvalue()


def as_json(table: ListTable) -> str:
    """The table as a JSON array with one object for each row; dates are ISO 8601 texts."""
    rows = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
    return json.dumps(rows, default=date.isoformat, ensure_ascii=False, indent=2)


def column_list(columns: Sequence[Column]) -> ListTable:
    """What a table to be imported may hold."""
    rows = tuple(
        (column.name, "yes" if column.required else "", column.words, column.example)
        for column in columns
    )
    return ListTable(("column", "required", "meaning", "example"), rows)


def site_list(sites: Iterable[Site]) -> ListTable:
    """Sites in the columns of their import, volumes in litres."""
    return _listed(SITE_COLUMNS, [_site_cells(site) for site in sites])


def technician_list(technicians: Iterable[Technician]) -> ListTable:
    """Technicians in the columns of their import."""
    return _listed(TECHNICIAN_COLUMNS, [_technician_cells(one) for one in technicians])


def hold_list(holds: Iterable[Hold]) -> ListTable:
    """Holds in the columns of their import."""
    rows = [
        {
            "site_id": hold.site_id,
            "first_day": hold.first_day,
            "last_day": hold.last_day,
            "reason": hold.reason,
        }
        for hold in holds
    ]
    return _listed(HOLD_COLUMNS, rows)


def one_off_list(works: Iterable[OneOff]) -> ListTable:
    """One-off work in the columns of its import."""
    return _listed(ONE_OFF_COLUMNS, [one_off_cells(work) for work in works])


def cell_text(cell: Cell) -> str:
    """A cell as it would be typed into a table: numbers without an exponent, None empty."""
    if isinstance(cell, float) and "e" in repr(cell):
        return f"{Decimal(repr(cell)):f}"
    return "" if cell is None else str(cell)


def cells_by_id(table: ListTable) -> dict[str, dict[str, str]]:
    """The cells of a list as they would stand in a table to be imported."""
    rows = [
        {name: cell_text(cell) for name, cell in zip(table.columns, row, strict=True)}
        for row in table.rows
    ]
    return {row["id"]: row for row in rows}


def _harmless(cell: Cell) -> Cell:
    if isinstance(cell, float):
        return cell_text(cell)
    return guarded(cell) if isinstance(cell, str) else cell


def _listed(columns: Sequence[Column], rows: Iterable[dict[str, Any]]) -> ListTable:
    """A table of the columns, where a row may leave some out."""
    names = tuple(column.name for column in columns)
    return ListTable(names, tuple(tuple(row.get(name) for name in names) for row in rows))


def _site_cells(site: Site) -> dict[str, Cell]:
    return {
        "id": site.id,
        "name": site.name,
        "address": site.address,
        "lat": site.place.lat,
        "lon": site.place.lon,
        **service_plan_cells(site.plan),
        "gate_note": site.gate_note,
        "dog": site.dog_note,
        "pad_note": site.pad_note,
        "email": site.email,
        "notices": ";".join(sorted(site.notices)),
        "pool_volume_l": site.pool_volume_l,
        "sanitizer": str(site.sanitizer),
        **equipment_cells(site.equipment),
    }


def _technician_cells(technician: Technician) -> dict[str, Cell]:
    return {
        "id": technician.id,
        "name": technician.name,
        "start_lat": technician.start.lat,
        "start_lon": technician.start.lon,
        "end_lat": technician.end.lat,
        "end_lon": technician.end.lon,
        **{
            name: None if shift is None else str(shift)
            for name, shift in zip(SHIFT_COLUMNS, technician.shifts, strict=True)
        },
        **_meal_cells(technician.meal),
        "skills": ";".join(sorted(technician.skills)),
        "payload_kg": technician.payload_kg,
        "days_off": ";".join(day.isoformat() for day in sorted(technician.days_off)),
        **technician_rule_cells(technician),
    }


def _meal_cells(meal: Break | None) -> dict[str, Cell]:
    if meal is None:
        return {}
    return {
        "break_min": meal.minutes,
        "break_from": format_time(meal.earliest_s),
        "break_to": format_time(meal.latest_s),
    }
