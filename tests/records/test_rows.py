"""Records as rows of a table."""

from __future__ import annotations

import csv
import io
from datetime import UTC
from zoneinfo import ZoneInfo

import pytest

from dispatch.errors import InvalidValue
from dispatch.records.content import record_of
from dispatch.records.rows import (
    RECORD_COLUMNS,
    parse_products,
    parse_values,
    read_record_rows,
    record_cells,
)
from tests.records.samples import content, full_content

PHOENIX = ZoneInfo("America/Phoenix")  # UTC-7 all year
HEADER = "site_id,technician_id,day,arrived,left,ph,filter_pressure,products\n"


def test_a_row_is_a_record_with_local_times() -> None:
    """9:05 on the sheet is 16:05 UTC; two pressures stay in their order."""
    text = HEADER + "S1,T1,2026-11-23,9:05,09:37,7.4,29 psi; 18 psi,salt 2 bag\n"
    (row,), problems = read_record_rows(text, PHOENIX)
    assert problems == []
    assert row.record.arrived_at is not None
    assert row.record.arrived_at.hour == 16
    assert [round(one.value) for one in row.record.readings] == [7, 200, 124]
    assert row.record.minutes == 32


def test_the_same_row_has_the_same_id() -> None:
    """A table taken in twice counts once, although paper has no ids."""
    text = HEADER + "S1,T1,2026-11-23,09:05,09:37,7.4,,\n"
    ids = [read_record_rows(text, PHOENIX)[0][0].record.id for _ in range(2)]
    assert ids[0] == ids[1]
    other = read_record_rows(text.replace("S1", "S2"), PHOENIX)[0][0].record.id
    assert other != ids[0]


def test_every_fault_is_listed_with_its_line() -> None:
    """One look mends the whole sheet."""
    text = (
        HEADER
        + "S1,T1,2026-11-23,09:05,09:37,seven,,\n"
        + ",T1,2026-11-23,09:05,09:37,7.4,,\n"
        + "S1,T1,2026-11-23,09:05,08:37,7.4,,\n"
        + "S1,T1,2026-11-23,09:05,09:37,7.4,,two bags\n"
    )
    rows, problems = read_record_rows(text, PHOENIX)
    assert rows == []
    assert [one.line for one in problems] == [2, 3, 4, 5]


@pytest.mark.parametrize("made", [content(), full_content()])
def test_cells_read_back_give_the_same_cells(made: dict[str, object]) -> None:
    """What a table cannot say (methods) is lost; what it says stays."""
    cells = record_cells(record_of(made, UTC), PHOENIX)
    text = io.StringIO()
    names = [column.name for column in RECORD_COLUMNS]
    writer = csv.DictWriter(text, names, restval="")
    writer.writeheader()
    writer.writerow(cells)
    (row,), problems = read_record_rows(text.getvalue(), PHOENIX)
    assert problems == []
    assert record_cells(row.record, PHOENIX) == cells


@pytest.mark.parametrize("text", ["2 bags of salt", "salt", "salt two bag", "salt 2"])
def test_a_product_needs_name_amount_and_unit(text: str) -> None:
    """The sentence shows how to write it."""
    with pytest.raises(InvalidValue, match="liquid-chlorine 32 fl oz"):
        parse_products(text)


def test_values_keep_their_units() -> None:
    """A unit beside a number is taken off the number; without one there is none."""
    assert parse_values("84 °F") == [(84.0, "°F")]
    assert parse_values("60%; 7.4") == [(60.0, "%"), (7.4, "")]
    with pytest.raises(InvalidValue, match="no reading"):
        parse_values("about 7")
