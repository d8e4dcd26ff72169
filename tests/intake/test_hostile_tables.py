"""Tables that nobody means well with, read by every importer there is."""

from __future__ import annotations

import contextlib
import csv
import io
from collections.abc import Callable, Sequence
from datetime import UTC, date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.errors import AddressNotFound, ImportRejected
from dispatch.intake.hold_rows import HOLD_COLUMNS, read_holds
from dispatch.intake.matching import guesses, renamed
from dispatch.intake.one_off_rows import ONE_OFF_COLUMNS, read_one_offs
from dispatch.intake.site_rows import SITE_COLUMNS, read_sites
from dispatch.intake.table import Column
from dispatch.intake.technician_rows import TECHNICIAN_COLUMNS, read_technicians
from dispatch.intake.workbook import read_any
from dispatch.places import Place
from dispatch.records.rows import RECORD_COLUMNS, read_record_rows

TODAY = date(2026, 11, 25)
NASTY = (
    "", "0", "-1", "1e308", "nan", "inf", "-inf", "9" * 400, "1,5", "０", "²", "\x00", "\ud83d",  # noqa: RUF001
    "../../etc/passwd", "C:\\CON", "=1+1", "<script>alert(1)</script>", "'; DROP TABLE site; --",
    "9999-12-31", "0000-00-00", "2026-02-30", "24:00-25:00", "Mon-Mon", "{{7*7}}", "%s%n", "\u202e",
)  # fmt: skip


def nowhere(address: str) -> Place:
    """No address is known."""
    raise AddressNotFound(f"There is no address '{address[:60]}' in this test.")


IMPORTERS: dict[str, tuple[Sequence[Column], Callable[[str], object]]] = {
    "sites": (SITE_COLUMNS, lambda text: read_sites(text, nowhere, today=TODAY)),
    "technicians": (TECHNICIAN_COLUMNS, lambda text: read_technicians(text, nowhere)),
    "holds": (HOLD_COLUMNS, lambda text: read_holds(text, {"S1"})),
    "one-offs": (ONE_OFF_COLUMNS, lambda text: read_one_offs(text, {"S1"}, today=TODAY)),
    "records": (RECORD_COLUMNS, lambda text: read_record_rows(text, UTC)),
}
CELLS = st.one_of(st.sampled_from(NASTY), st.text(max_size=20))


@pytest.mark.parametrize("noun", IMPORTERS)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_cell_breaks_an_importer(noun: str, data: st.DataObject) -> None:
    """Honest rows with a few cells of anything; the answer is rows, or a list of what is wrong."""
    columns, read = IMPORTERS[noun]
    row = {column.name: column.example for column in columns}
    for name in data.draw(st.lists(st.sampled_from(sorted(row)), min_size=1, max_size=3)):
        row[name] = data.draw(CELLS)
    text = io.StringIO(newline="")
    csv.writer(text).writerows([row.keys(), row.values()])
    with contextlib.suppress(ImportRejected):
        read(text.getvalue())


@pytest.mark.parametrize("noun", IMPORTERS)
@settings(max_examples=25, deadline=None)
@given(st.one_of(st.text(max_size=80), st.binary(max_size=80)))
def test_no_text_breaks_an_importer(noun: str, sent: str | bytes) -> None:
    """What is no table at all, bytes of any kind among it."""
    columns, read = IMPORTERS[noun]
    with contextlib.suppress(ImportRejected):
        text = read_any(sent) if isinstance(sent, bytes) else sent
        chosen = [one.column or "" for one in guesses(text, columns)]
        read(renamed(text, chosen))
        read(text)
