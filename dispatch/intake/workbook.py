"""Workbooks (XLSX) as the CSV text that the readers of tables take.

A workbook is a zip of XML files, which may be made to swell to any size. So everything is unpacked
once in small pieces before it is read, and refused where it swells too far, holds a document type
(with entities that multiply), or claims a sheet of millions of cells.
"""

from __future__ import annotations

import csv
import io
import lzma
import re
import struct
import zipfile
import zlib
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import IO

from dispatch.errors import ImportRejected
from dispatch.intake.table import RowProblem, decode, rejected
from dispatch.words import _

ZIP_START = b"PK\x03\x04"
MOST_UNPACKED_B = 80_000_000  # bytes; 100,000 rows of 60 short cells are about half of it
MOST_FILES = 2_000
MOST_ROWS, MOST_COLUMNS = 200_000, 500
PIECE_B = 1 << 16
CELL = re.compile(rb'<(?:\w+:)?c\b[^>]{0,200}?\br="([A-Z]{1,3})(\d{1,7})"')
ROW = re.compile(rb'<(?:\w+:)?row\b[^>]{0,200}?\br="(\d{1,7})"')
# What the standard library raises on a damaged zip. ValueError: names that are no UTF-8, and
# offsets that point before the file.
FAULTS = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    struct.error,
    ValueError,
    RuntimeError,
    EOFError,
    OSError,
)
OVERLAP_B = 256  # of the piece before, in which a cell's tag may have begun


def read_any(data: bytes) -> str:
    """Text of a table from a CSV file or the first sheet of an XLSX workbook.

    Raises
    ------
    ImportRejected
        When it is neither, or a workbook that is broken or swells beyond all measure.
    """
    return csv_of_workbook(data) if data.startswith(ZIP_START) else decode(data)


def csv_of_workbook(data: bytes) -> str:
    """The first sheet of a workbook as CSV text; raises as `read_any` does."""
    from python_calamine import CalamineError, CalamineWorkbook

    _check_size(data)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        rows = book.get_sheet_by_index(0).to_python(skip_empty_area=False)
    except (CalamineError, IndexError, ValueError, KeyError) as error:
        raise _refused(_("The workbook cannot be read ({error})").format(error=error)) from error
    text = io.StringIO(newline="")
    csv.writer(text).writerows([_words(cell) for cell in row] for row in rows)
    return text.getvalue()


def _words(cell: object) -> str:
    """A cell as a person would type it into CSV."""
    match cell:
        case bool():
            words = "yes" if cell else "no"
        case float():
            is_whole = cell.is_integer() and abs(cell) < 1e15  # beyond, a float skips numbers
            words = str(int(cell)) if is_whole else f"{Decimal(repr(cell)):f}"
        case datetime():
            is_day = cell.time() == time()
            words = str(cell.date()) if is_day else cell.isoformat(timespec="minutes")
        case time():
            words = f"{cell:%H:%M}"
        case timedelta():
            minutes = round(cell.total_seconds() / 60)
            words = f"{minutes // 60:02d}:{minutes % 60:02d}"
        case _:
            words = str(cell)  # a date is written as in ISO 8601
    return words


def _check_size(data: bytes) -> None:
    """Unpack everything once, in pieces, and refuse what is no honest workbook."""
    left_b = MOST_UNPACKED_B
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            names = packed.namelist()
            if len(names) > MOST_FILES:
                raise _refused(_("The workbook holds {number:,} files").format(number=len(names)))
            for name in names:
                with packed.open(name) as source:
                    left_b = _check_part(source, name, left_b)
    except FAULTS as error:
        raise _refused(
            _("The workbook cannot be unpacked ({error})").format(error=error)
        ) from error


def _check_part(source: IO[bytes], name: str, left_b: int) -> int:
    before = b""
    is_xml = name.endswith((".xml", ".rels"))
    while piece := source.read(PIECE_B):
        left_b -= len(piece)
        if left_b < 0:
            raise _refused(
                _("Unpacked, the workbook is larger than {most_unpacked_b} MB").format(
                    most_unpacked_b=MOST_UNPACKED_B // 1000000
                )
            )
        if is_xml:
            _check_xml(before + piece)
        before = piece[-OVERLAP_B:]
    return left_b


def _check_xml(text: bytes) -> None:
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise _refused(
            _("The workbook holds a document type, as no spreadsheet program writes one")
        )
    rows = max((int(found) for found in ROW.findall(text)), default=0)
    columns = 0
    for letters, row in CELL.findall(text):
        rows = max(rows, int(row))
        columns = max(columns, _column(letters))
    if rows > MOST_ROWS or columns > MOST_COLUMNS:
        raise _refused(
            _(
                "A sheet reaches to row {rows:,} and column {columns:,}; more than "
                "{most_rows:,} rows or {most_columns} columns are not read"
            ).format(rows=rows, columns=columns, most_rows=MOST_ROWS, most_columns=MOST_COLUMNS)
        )


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - ord("A") + 1
    return number


def _refused(words: str) -> ImportRejected:
    return rejected(
        [
            RowProblem(
                1, "", "", _("{words}: save the table as CSV UTF-8 instead.").format(words=words)
            )
        ]
    )
