"""Records as a table: one row for each visit, for paper sheets and spreadsheets.

A row becomes the content of a record (`records.content`). Without an id it gets one made from
site, technician, day and arrival, so that the same table taken in twice counts once.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from dispatch.clock import parse_day
from dispatch.errors import InvalidValue
from dispatch.intake.cells import Cells
from dispatch.intake.parse import parse_number
from dispatch.intake.table import Column, RowProblem, read_table
from dispatch.readings import LIMITS, ReadingKind
from dispatch.records.content import record_of
from dispatch.records.record import VisitRecord
from dispatch.words import N_, _

READING_COLUMNS: dict[str, ReadingKind] = {kind.replace("-", "_"): kind for kind in ReadingKind}
EXAMPLES = {
    ReadingKind.PH: "7.4",
    ReadingKind.WATER_TEMPERATURE: "84 °F",
    ReadingKind.FILTER_PRESSURE: "29 psi; 18 psi",
    ReadingKind.PUMP_SPEED: "2400",
    ReadingKind.CELL_CURRENT: "4.5",
    ReadingKind.CELL_VOLTAGE: "24",
    ReadingKind.FLOW: "40 gpm",
    ReadingKind.ANODE_REMAINING: "60 %",
}

RECORD_COLUMNS: tuple[Column, ...] = (
    Column("id", "the record's UUID; made from the row when empty", ""),
    Column("site_id", "the id of the site", "S017", required=True),
    Column("technician_id", "the id of the technician", "T1", required=True),
    Column("day", "the day of the visit", "2026-11-23", required=True),
    Column("arrived", "local time of arrival, or a whole time stamp", "09:05"),
    Column("left", "local time of departure, or a whole time stamp", "09:37"),
    Column("visit_id", "the planned visit", "S017/2026-W48/1"),
    Column("skipped", "why nothing was done", "gate locked"),
    Column("work", "work done, separated by semicolons", "brushed; vacuumed"),
    Column(
        "products",
        "product, amount and unit, @ and strength if not the usual one; separated by semicolons",
        "liquid-chlorine 32 fl oz @ 125; salt 2 bag",
    ),
    Column("upkeep", "kinds of upkeep done, separated by semicolons", "backwash"),
    Column("seen", "what was seen, separated by semicolons", "leak; drain-cover-loose"),
    Column("parts_to_order", "parts, separated by semicolons", "Lid o-ring"),
    Column("photos", "ids of photos that were sent, separated by semicolons", ""),
    Column("note", "anything else", "Gate sticks"),
    Column("took_over", "yes where the visit was planned for another", "yes"),
    *(
        Column(
            name,
            "{title}, in {unit} unless a unit follows",
            EXAMPLES.get(kind, "2.5"),
            named=(
                ("title", LIMITS[kind].title),
                ("unit", LIMITS[kind].unit or N_("its scale")),
            ),
        )
        for name, kind in READING_COLUMNS.items()
    ),
)

PRODUCT = re.compile(r"^(\S+)\s+([\d.,]+)\s*([a-zA-Z ]+?)\s*(?:@\s*([\d.,]+).*)?$")
VALUE = re.compile(r"^(-?[\d.,]+)\s*(.*)$")
TIME = re.compile(r"^\d{1,2}:\d{2}$")


@dataclass(frozen=True, slots=True)
class RecordRow:
    """One row that could be read: its line in the file and the content it stands for."""

    line: int
    content: dict[str, Any]
    record: VisitRecord


def read_record_rows(text: str, zone: tzinfo) -> tuple[list[RecordRow], list[RowProblem]]:
    """Read a table of records; every problem is listed, and the rows without any are returned.

    Parameters
    ----------
    text
        CSV with the columns of RECORD_COLUMNS.
    zone
        The company's time zone, in which times without a date are.
    """
    table = read_table(text, RECORD_COLUMNS)
    problems = list(table.problems)
    rows: list[RecordRow] = []
    for row in table.rows:
        cells = Cells(row)
        cells.require(RECORD_COLUMNS)
        content = _content(cells)
        record = None
        if not cells.problems:
            try:
                record = record_of(content, zone)
            except InvalidValue as error:
                cells.problems.append(RowProblem(row.line, "", "", str(error)))
        if record is not None:
            rows.append(RecordRow(row.line, content, record))
        problems.extend(cells.problems)
    return rows, problems


def record_cells(record: VisitRecord, zone: tzinfo) -> dict[str, str]:
    """The cells of a record, which read back give the same record."""
    readings: dict[str, list[str]] = {}
    for one in record.readings:
        name = one.kind.replace("-", "_")
        unit = LIMITS[one.kind].unit
        figure = f"{one.value:g}" if abs(one.value) < 1e6 else str(one.value)
        readings.setdefault(name, []).append(f"{figure} {unit}".strip())
    return {
        "id": record.id,
        "site_id": record.site_id,
        "technician_id": record.technician_id,
        "day": record.day.isoformat(),
        "arrived": _local(record.arrived_at, zone),
        "left": _local(record.left_at, zone),
        "visit_id": record.visit_id or "",
        "skipped": record.skipped,
        "work": "; ".join(record.work),
        "products": "; ".join(
            f"{one.product} {one.amount:g} {one.unit}"
            + (f" @ {one.strength:g}" if one.strength is not None else "")
            for one in record.products
        ),
        "upkeep": "; ".join(one.kind for one in record.upkeep),
        "seen": "; ".join(record.seen),
        "parts_to_order": "; ".join(record.parts_to_order),
        "photos": "; ".join(record.photos),
        "note": record.note,
        "took_over": "yes" if record.took_over else "",
        **{name: "; ".join(values) for name, values in readings.items()},
    }


def _content(cells: Cells) -> dict[str, Any]:
    day = cells.text("day")
    cells.read("day", parse_day, None)
    content: dict[str, Any] = {
        name: cells.text(name)
        for name in ("site_id", "technician_id", "day", "visit_id", "skipped", "note")
    }
    content["arrived_at"] = _moment(day, cells.text("arrived"))
    content["left_at"] = _moment(day, cells.text("left"))
    content["took_over"] = cells.text("took_over").casefold() in ("yes", "true", "1")
    for name in ("work", "seen", "parts_to_order", "photos"):
        content[name] = _split(cells.text(name))
    content["upkeep"] = [{"kind": kind} for kind in _split(cells.text("upkeep"))]
    none_added: list[dict[str, Any]] = []
    content["products"] = cells.read("products", parse_products, none_added)
    none_read: list[tuple[float, str]] = []
    content["readings"] = [
        {"kind": str(kind), "value": value, "unit": unit}
        for name, kind in READING_COLUMNS.items()
        for value, unit in cells.read(name, parse_values, none_read)
    ]
    content["id"] = cells.text("id") or _made_id(content)
    return content


def _made_id(content: dict[str, Any]) -> str:
    names = ("site_id", "technician_id", "day", "arrived_at", "visit_id")
    return str(uuid5(NAMESPACE_URL, "|".join(str(content[name]) for name in names)))


def _split(text: str) -> list[str]:
    return [part.strip() for part in text.split(";") if part.strip()]


def _moment(day: str, text: str) -> str:
    return f"{day}T{text.zfill(5)}" if TIME.match(text) else text


def parse_products(text: str) -> list[dict[str, Any]]:
    """Products with amounts, as 'liquid-chlorine 32 fl oz @ 125; salt 2 bag'.

    Raises
    ------
    InvalidValue
        When a part of the text is none.
    """
    found = []
    for part in _split(text):
        match = PRODUCT.match(part)
        if match is None:
            raise InvalidValue(
                _(
                    "'{part}' is no product with an amount: write it as liquid-chlorine 32 fl oz."
                ).format(part=part)
            )
        found.append(
            {
                "product": match[1],
                "amount": parse_number(match[2]),
                "unit": match[3],
                "strength": parse_number(match[4]) if match[4] else None,
            }
        )
    return found


def parse_values(text: str) -> list[tuple[float, str]]:
    """Values of one reading with their units, as '29 psi; 18 psi'; the unit may be missing.

    Raises
    ------
    InvalidValue
        When a part of the text begins with no number.
    """
    found = []
    for part in _split(text):
        match = VALUE.match(part)
        if match is None:
            raise InvalidValue(
                _("'{part}' is no reading: write a number, and its unit after it.").format(
                    part=part
                )
            )
        found.append((parse_number(match[1]), match[2].strip()))
    return found


def _local(at: datetime | None, zone: tzinfo) -> str:
    return "" if at is None else at.astimezone(zone).isoformat(timespec="seconds")
