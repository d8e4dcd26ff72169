"""Tables as people have them: CSV text in, rows with their line numbers out.

A table is comma-separated (RFC 4180), or separated by semicolons or tabs as spreadsheets of some
countries write it; the header decides. Column order is free; upper case, spaces and hyphens in
the header do not matter. Every problem is collected, so that one look mends the whole file.
"""

from __future__ import annotations

import csv
import difflib
import io
import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from dispatch.errors import ImportRejected
from dispatch.words import _, counted

DELIMITERS = ",;\t"
LONGEST_CELL = 1000  # characters; more is most likely a quote that was never closed
SHOWN_CHARACTERS = 60  # of a value in a sentence
FULL_WIDTH = ("\uff1d", "\uff0b", "\uff0d", "\uff20")  # =, +, -, @ as some spreadsheets take them
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", *FULL_WIDTH)  # OWASP, "CSV Injection"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its name, what it means, and a value as an example.

    A required column must be there and filled in each row.
    """

    name: str
    meaning: str
    example: str
    required: bool = False
    named: tuple[tuple[str, str], ...] = ()  # what stands for '{name}' in the meaning

    @property
    def words(self) -> str:
        """The meaning in the reader's language."""
        return _(self.meaning).format(**{name: _(text) for name, text in self.named})


@dataclass(frozen=True, slots=True)
class RowProblem:
    """What is wrong with one cell and how to mend it.

    `line` counts the lines of the file from 1, the header included; `column` is empty where the
    whole line is meant. `mend` is one or more whole sentences.
    """

    line: int
    column: str
    value: str
    mend: str

    @property
    def sentence(self) -> str:
        """The problem in one line, as "Line 7, column lat: '91' is ..."."""
        shown = shorten(self.value)
        said = f"'{shown}'" in self.mend or (len(shown) > 3 and shown in self.mend)
        shows = bool(shown) and not said
        if self.column:
            of_value = _("Line {line}, column {column}, value '{value}': {mend}")
            line = of_value if shows else _("Line {line}, column {column}: {mend}")
        else:
            line = _("Line {line}, value '{value}': {mend}") if shows else _("Line {line}: {mend}")
        return line.format(line=self.line, column=self.column, value=shown, mend=self.mend)


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the line of the file on which it begins, and its cells by column name.

    Cells are stripped of spaces at both ends, and of the apostrophe by which a list was `guarded`;
    a column that the file lacks is an empty cell.
    """

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of a file and what is wrong with its header and its shape; `names` it has."""

    rows: tuple[Row, ...]
    problems: tuple[RowProblem, ...]
    names: tuple[str, ...] = ()


def guarded(text: str) -> str:
    """A text as it stands in CSV: an apostrophe before what a spreadsheet takes for a formula."""
    return f"'{text}" if text.lstrip("'").startswith(FORMULA_STARTS) else text


def unguarded(text: str) -> str:
    """What was guarded, as it was; another text stays as it is."""
    is_guarded = text.startswith("'") and text.lstrip("'").startswith(FORMULA_STARTS)
    return text[1:] if is_guarded else text


def decode(data: bytes) -> str:
    """Text of a CSV file in UTF-8, with or without a byte-order mark.

    Raises
    ------
    ImportRejected
        When the bytes are something else: a workbook, UTF-16, or an older code page. One problem
        names the line of the first byte that is not UTF-8.
    """
    if data.startswith(b"PK\x03\x04"):
        raise rejected(
            [RowProblem(1, "", "", _("This is a workbook, not CSV: save it as CSV UTF-8."))]
        )
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise rejected([RowProblem(1, "", "", _("The file is in UTF-16: save it as CSV UTF-8."))])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = data[error.start : error.start + 1].hex()
        mend = _(
            "The byte {found} is not UTF-8, so letters would be lost: save the file as CSV UTF-8."
        ).format(found=found)
        raise rejected([RowProblem(line, "", "", mend)]) from error


def read_table(
    text: str, columns: Sequence[Column], known_ids: Collection[str] = frozenset()
) -> Table:
    """Read the rows of a CSV text.

    Empty lines are skipped. A row may end early, as hand-written ones do; a row with more cells
    than the header is a problem, and is left out of `rows`. With a header that cannot be used,
    no rows are read, because each would only repeat the header's problem.

    Parameters
    ----------
    text
        The whole table; a byte-order mark at its beginning is ignored.
    columns
        The columns that are known.
    known_ids
        Ids of which no cell has to be given: where all rows have one, no column is missing.
    """
    text = _whole(text.removeprefix("\ufeff"))
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        return _hopeless(
            line, _("The line holds a NUL character: save the file as CSV UTF-8 anew.")
        )
    records, broken = _records(text)
    if not records:
        empty = _("The file is empty: begin with a line of column names, {columns}.").format(
            columns=_all(columns)
        )
        return Table((), tuple(broken)) if broken else _hopeless(1, empty)
    header_line, header = records[0]
    names = [_normal(cell) for cell in header]
    while not names[-1]:  # spreadsheets add empty columns at the right
        names.pop()
    needed = () if _are_known(records[1:], names, known_ids) else columns
    problems = [*_header_problems(header_line, names, columns, needed), *broken]
    if len(problems) > len(broken):
        return Table((), tuple(problems))
    if len(records) == 1 and not broken:
        return _hopeless(
            header_line, _("There is no row below the column names: add at least one.")
        )
    rows, row_problems = _rows(records[1:], names, columns)
    return Table(tuple(rows), (*problems, *row_problems), tuple(names))


def records_of(text: str) -> list[tuple[int, list[str]]]:
    """The records of a CSV text with the line on which each begins, the headings first.

    Raises
    ------
    ImportRejected
        When there are none, or the quotes of a line do not pair up.
    """
    text = _whole(text.removeprefix("\ufeff"))
    records, broken = _records(text.replace("\0", ""))
    if broken:
        raise rejected(broken)
    if not records:
        raise rejected([RowProblem(1, "", "", _("The file is empty: begin with a line of names."))])
    return records


def first_records(text: str, number: int) -> tuple[list[str], list[list[str]]]:
    """The headings of a CSV text and its first rows; raises as `records_of` does."""
    records = records_of(text)
    headings = [cell.strip() for cell in records[0][1]]
    while len(headings) > 1 and not headings[-1]:  # spreadsheets add empty columns at the right
        headings.pop()
    return headings, [cells for _, cells in records[1 : number + 1]]


def rejected(problems: Iterable[RowProblem]) -> ImportRejected:
    """The error that carries all problems, in the order of their lines."""
    ordered = tuple(sorted(problems, key=lambda problem: problem.line))
    said = counted(
        "The table has {n} problem and nothing of it was taken in: mend the lines listed and "
        "import it again.",
        "The table has {n} problems and nothing of it was taken in: mend the lines listed and "
        "import it again.",
        len(ordered),
    )
    return ImportRejected(said, ordered)


def nearest(word: str, known: Iterable[str]) -> str:
    """A question to put right behind a message, as " Did you mean 'rhythm'?", or nothing."""
    by_fold = {name.casefold(): name for name in known}
    close = difflib.get_close_matches(word.casefold(), by_fold, n=1, cutoff=0.6)
    return " " + _("Did you mean '{name}'?").format(name=by_fold[close[0]]) if close else ""


def shorten(value: str) -> str:
    """A value on one line, cut where it would drown the sentence."""
    flat = " ".join(value.split())
    return flat if len(flat) <= SHOWN_CHARACTERS else f"{flat[: SHOWN_CHARACTERS - 1]}…"


def _whole(text: str) -> str:
    """The text with U+FFFD for each half of a character, which no database would take."""
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _records(text: str) -> tuple[list[tuple[int, list[str]]], list[RowProblem]]:
    """Records with the line on which each begins, up to the first that cannot be read."""
    lines = io.StringIO(text, newline="")
    reader = csv.reader(lines, delimiter=_delimiter(text), strict=True, skipinitialspace=True)
    records: list[tuple[int, list[str]]] = []
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                records.append((begins, cells))
            begins = reader.line_num + 1
    except csv.Error:
        mend = _(
            "The quotes of this line do not pair up, so nothing below it could be read: "
            'close the quote, and write a quote inside a quoted value twice, as "the '
            '""old"" gate".'
        )
        return records, [RowProblem(begins, "", "", mend)]
    return records, []


def _delimiter(text: str) -> str:
    """The separator that the first line with content uses most, outside quotes."""
    first = next((line for line in text.splitlines() if line.strip(" ,;\t")), "")
    bare = re.sub(r'"[^"]*"', "", first)
    return max(DELIMITERS, key=bare.count)


def _normal(name: str) -> str:
    return re.sub(r"[\s\-]+", "_", name.strip().casefold())


def _are_known(
    records: Sequence[tuple[int, list[str]]], names: Sequence[str], known_ids: Collection[str]
) -> bool:
    """Whether each row is about something known, so that a column may be missing."""
    at = names.index("id") if "id" in names else len(names)
    ids = [unguarded(cells[at].strip()) if at < len(cells) else "" for _line, cells in records]
    return bool(ids) and all(one in known_ids for one in ids)


def _header_problems(
    line: int, names: Sequence[str], columns: Sequence[Column], needed: Sequence[Column]
) -> Iterator[RowProblem]:
    known = [column.name for column in columns]
    for name, times in Counter(names).items():
        if not name:
            yield RowProblem(line, "", "", _("A column has no name: name it, or take it out."))
        elif name not in known:
            missing = [other for other in known if other not in names]
            hint = nearest(name, missing) or " " + _("Take it out, or rename it.")
            mend = _("'{name}' is no column of this table.{hint}").format(
                name=shorten(name), hint=hint
            )
            yield RowProblem(line, shorten(name), name, mend)
        elif times > 1:
            mend = _("The column '{name}' is there {times} times: keep one.").format(
                name=name, times=times
            )
            yield RowProblem(line, name, name, mend)
    for column in needed:
        if column.required and column.name not in names:
            mend = _(
                "The column '{name}' is missing ({meaning}): add it, with values as {example}."
            ).format(name=column.name, meaning=column.words, example=column.example)
            yield RowProblem(line, column.name, "", mend)


def _rows(
    records: Iterable[tuple[int, list[str]]], names: Sequence[str], columns: Sequence[Column]
) -> tuple[list[Row], list[RowProblem]]:
    rows: list[Row] = []
    problems: list[RowProblem] = []
    for line, cells in records:
        extra = [cell for cell in cells[len(names) :] if cell.strip()]
        if extra:
            mend = _(
                "There are {number} cells but {columns} columns: a value that holds the "
                "separator must stand in quotes."
            ).format(number=len(cells), columns=len(names))
            problems.append(RowProblem(line, "", extra[0], mend))
            continue
        given = dict(zip(names, (unguarded(cell.strip()) for cell in cells), strict=False))
        rows.append(Row(line, {column.name: given.get(column.name, "") for column in columns}))
        problems.extend(
            RowProblem(
                line,
                name,
                cell,
                _("A text of {number} characters: {longest_cell} at most.").format(
                    number=len(cell), longest_cell=LONGEST_CELL
                ),
            )
            for name, cell in given.items()
            if len(cell) > LONGEST_CELL
        )
    return rows, problems


def _hopeless(line: int, mend: str) -> Table:
    return Table((), (RowProblem(line, "", "", mend),))


def _all(columns: Iterable[Column]) -> str:
    return ", ".join(column.name for column in columns if column.required)
