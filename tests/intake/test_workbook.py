from __future__ import annotations

import contextlib
import io
import zipfile
from datetime import date, datetime, time

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.errors import ImportRejected
from dispatch.intake import workbook
from dispatch.intake.workbook import csv_of_workbook, read_any


def xlsx(*rows: list[object]) -> bytes:
    """A workbook with one sheet."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def spoiled(name: str, content: bytes) -> bytes:
    """An honest workbook in which one file is another one."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(xlsx(["id"], ["S1"]))) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for one in old.namelist():
            if one != name:
                new.writestr(one, old.read(one))
        new.writestr(name, content)
    return out.getvalue()


def words(error: pytest.ExceptionInfo[ImportRejected]) -> str:
    """The problems of a refused table."""
    return " ".join(str(getattr(one, "mend", "")) for one in error.value.problems)


def test_cells_become_what_a_person_would_type() -> None:
    """Numbers without a point, ISO dates, times of day, yes and no."""
    data = xlsx(
        ["id", "min", "lat", "on", "at", "ok"],
        ["S1", 30.0, 33.5, datetime(2026, 11, 30), time(7, 30), True],  # noqa: DTZ001 - as in a sheet
        ["S2", 45, None, date(2026, 12, 1), None, False],
    )
    assert csv_of_workbook(data).splitlines() == [
        "id,min,lat,on,at,ok",
        "S1,30,33.5,2026-11-30,07:30,yes",
        "S2,45,,2026-12-01,,no",
    ]


def test_csv_is_still_csv() -> None:
    """One door for both."""
    assert read_any(b"id,name\nS1,x\n") == "id,name\nS1,x\n"
    assert read_any(xlsx(["id"], ["S1"])).split() == ["id", "S1"]


def test_a_zip_bomb_is_refused_before_it_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """20 MB of zeros in 20 kB; the limit is lowered so that the test stays small."""
    monkeypatch.setattr(workbook, "MOST_UNPACKED_B", 5_000_000)
    bomb = spoiled("xl/media/image1.png", bytes(20_000_000))
    assert len(bomb) < 100_000
    with pytest.raises(ImportRejected) as error:
        csv_of_workbook(bomb)
    assert "larger than 5 MB" in words(error)


def test_entities_that_multiply_are_refused() -> None:
    """The XML bomb of ten lines that become gigabytes."""
    bomb = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "ha"><!ENTITY c "&b;&b;">]><a>&c;</a>'
    with pytest.raises(ImportRejected) as error:
        csv_of_workbook(spoiled("xl/sharedStrings.xml", bomb))
    assert "document type" in words(error)


def test_a_sheet_that_claims_millions_of_cells_is_refused() -> None:
    """One cell at the far corner would make a reader lay out 17,000,000,000 of them."""
    sheet = (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        b'<row r="1048576"><c r="XFD1048576" t="n"><v>1</v></c></row></sheetData></worksheet>'
    )
    with pytest.raises(ImportRejected) as error:
        csv_of_workbook(spoiled("xl/worksheets/sheet1.xml", sheet))
    assert "row 1,048,576 and column 16,384" in words(error)


ENTRY, END = b"PK\x01\x02", b"PK\x05\x06"  # first entry, and end, of a zip's directory (APPNOTE)
DAMAGE = (  # where, which bytes become what, and what is said of it
    (ENTRY, {9: 0x08, 46: 0xFF}, "can't decode"),  # a name said to be UTF-8, which it is not
    (ENTRY, {10: 0x63}, "not supported"),  # packed in a way that nobody knows
    (ENTRY, {10: 0x0E}, "CRC"),  # packed otherwise than it says
    (ENTRY, {44: 0xFF}, "header"),  # a file that begins behind the end
    (END, {18: 0xFF}, "negative"),  # and one that begins before the beginning
)


@pytest.mark.parametrize(("after", "changed", "reason"), DAMAGE)
def test_a_damaged_directory_is_told(after: bytes, changed: dict[int, int], reason: str) -> None:
    """A download that broke off, or a disk that forgets."""
    data = bytearray(xlsx(["id", "name"], ["S1", "Invented One"]))
    first = data.index(after)
    for at, byte in changed.items():
        data[first + at] = byte
    with pytest.raises(ImportRejected) as error:
        csv_of_workbook(bytes(data))
    assert "cannot be unpacked" in words(error)
    assert reason in words(error)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 5000), st.binary(min_size=1, max_size=40))
def test_a_damaged_workbook_is_refused_or_read_but_never_breaks(at: int, junk: bytes) -> None:
    """Whatever stands in an upload, the answer is a sentence."""
    data = xlsx(["id", "name"], ["S1", "Invented One"])
    broken = data[: at % len(data)] + junk + data[at % len(data) + len(junk) :]
    with contextlib.suppress(ImportRejected):
        assert isinstance(read_any(broken), str)
