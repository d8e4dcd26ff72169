from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from dispatch.actions.export_all import as_xlsx
from dispatch.actions.lists import (
    ListTable,
    as_csv,
    as_json,
    column_list,
    hold_list,
    site_list,
    technician_list,
)
from dispatch.errors import InvalidValue
from dispatch.intake.hold_rows import HOLD_COLUMNS, read_holds
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.intake.site_rows import read_sites
from dispatch.intake.table import FORMULA_STARTS, unguarded
from dispatch.intake.technician_rows import read_technicians
from dispatch.intake.workbook import read_any
from dispatch.places import Place
from tests.feeds.hostile import TEXTS
from tests.store.values import FULL_SITE, HOLDS, SITES, TECHNICIANS

TABLE = ListTable(
    ("name", "day", "km"), (("Plain, with comma", date(2026, 11, 30), -1.5), (None, None, 0))
)


def nowhere(_words: str) -> Place:
    """A finder that is never asked, because every row has its place."""
    raise AssertionError


def test_csv_has_a_heading_quotes_and_empty_cells() -> None:
    """RFC 4180."""
    assert as_csv(TABLE) == 'name,day,km\r\n"Plain, with comma",2026-11-30,-1.5\r\n,,0\r\n'


def test_json_names_every_cell() -> None:
    """Numbers stay numbers and dates are ISO 8601."""
    assert json.loads(as_json(TABLE)) == [
        {"name": "Plain, with comma", "day": "2026-11-30", "km": -1.5},
        {"name": None, "day": None, "km": 0},
    ]


@pytest.mark.parametrize(
    "start",
    ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"],
)
def test_a_text_that_a_spreadsheet_would_run_is_disarmed(start: str) -> None:
    """A customer's name must not become a formula on the owner's computer (OWASP)."""
    table = ListTable(("name",), ((f"{start}cmd|' /C calc'!A0",),))
    (_, (cell,)) = csv.reader(io.StringIO(as_csv(table), newline=""))
    assert cell.startswith("'")


@pytest.mark.parametrize("note", ["+1 555 0100", "- push hard", "@back", "=left", "'s", "\uff0b1"])
def test_a_note_that_was_disarmed_is_the_same_after_export_and_import(note: str) -> None:
    """A gate note that begins with a telephone number must not gather apostrophes."""
    site = replace(SITES[0], gate_note=note)
    for text in (
        as_csv(site_list([site])),
        read_any(as_xlsx({"sites": site_list([site])})),
    ):
        assert read_sites(text, nowhere)[0].gate_note == note


@hypothesis_settings(deadline=None)
@given(st.lists(st.tuples(TEXTS, TEXTS), min_size=1, max_size=4))
def test_any_text_is_one_cell_that_no_spreadsheet_runs(rows: list[tuple[str, str]]) -> None:
    """Read by the grammar of RFC 4180, section 2; each cell comes back as it was."""
    text = as_csv(ListTable(("a", "b"), tuple(rows)))
    field = '(?:"(?:[^"]|"")*"|[^",\r\n]*)'
    assert re.fullmatch(f"(?:{field},{field}\r\n)+", text)
    _heading, *found = csv.reader(io.StringIO(text, newline=""))
    assert [tuple(unguarded(cell) for cell in row) for row in found] == rows
    assert not any(cell.startswith(FORMULA_STARTS) for row in found for cell in row)


def test_a_row_that_does_not_fit_its_columns_is_refused() -> None:
    """A shifted column would be read as another fact."""
    with pytest.raises(InvalidValue, match="1 cells does not fit 2 columns"):
        ListTable(("a", "b"), (("x",),))


def test_sites_are_the_same_after_export_and_import() -> None:
    """Each column of the import is filled, gate codes and the place of an address aside."""
    table = site_list(SITES)
    again = read_sites(as_csv(table), nowhere)
    assert [site.plan for site in again] == [site.plan for site in SITES]
    assert [site.equipment for site in again] == [site.equipment for site in SITES]
    assert again[1].place == FULL_SITE.place
    assert again[1].pool_volume_l == pytest.approx(FULL_SITE.pool_volume_l)
    assert again[1].dog_note == FULL_SITE.dog_note


def test_technicians_are_the_same_after_export_and_import() -> None:
    """Shifts, breaks, days off and two different depots."""
    assert read_technicians(as_csv(technician_list(TECHNICIANS)), nowhere) == TECHNICIANS


def test_holds_are_the_same_after_export_and_import() -> None:
    """With and without a reason."""
    assert read_holds(as_csv(hold_list(HOLDS)), {"S001", "S003"}) == HOLDS


def test_every_column_of_an_import_is_listed_with_its_meaning() -> None:
    """Who fills a table by hand starts here."""
    table = column_list(SITE_COLUMNS)
    assert [row[0] for row in table.rows] == [column.name for column in SITE_COLUMNS]
    assert column_list(HOLD_COLUMNS).rows[0][:2] == ("site_id", "yes")
