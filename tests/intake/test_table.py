"""CSV text into rows, and what is wrong with a file as a whole."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import ImportRejected
from dispatch.intake.table import (
    Column,
    RowProblem,
    Table,
    decode,
    nearest,
    read_table,
    rejected,
    shorten,
)

COLUMNS = (
    Column("id", "a short name", "S1", required=True),
    Column("name", "words", "Elm", required=True),
    Column("note", "more words", "side gate"),
)


def sentences(table: Table) -> list[str]:
    return [problem.sentence for problem in table.problems]


def cells(table: Table) -> list[dict[str, str]]:
    return [dict(row.cells) for row in table.rows]


def test_rows_carry_the_line_of_the_file_on_which_they_begin() -> None:
    """A quoted line break moves all lines below it, as it does in an editor."""
    table = read_table('id,name,note\nS1,Elm,"left\nof the gate"\n\nS2,Oak,\n', COLUMNS)
    assert [row.line for row in table.rows] == [2, 5]
    assert table.rows[0].cells["note"] == "left\nof the gate"
    assert table.problems == ()


@pytest.mark.parametrize(
    "text",
    [
        "id,name,note\nS1,Elm,side\n",
        "\ufeffid;name;note\r\nS1;Elm;side\r\n",
        "id\tname\tnote\nS1\tElm\tside",
        '"id";"name";"note"\n"S1";"Elm";"side"\n',
        " ID , Name ,NOTE\nS1 , Elm,  side\n",
        "note,id,name,,\nside,S1,Elm,,\n",
    ],
)
def test_the_same_table_is_read_however_the_spreadsheet_wrote_it(text: str) -> None:
    """Separator, byte-order mark, line ends, quotes, order and case are accidents of the tool."""
    table = read_table(text, COLUMNS)
    assert table.problems == ()
    assert cells(table) == [{"id": "S1", "name": "Elm", "note": "side"}]


def test_a_column_that_the_file_lacks_is_empty_in_each_row() -> None:
    """Optional columns may be left out altogether."""
    assert cells(read_table("id,name\nS1,Elm\n", COLUMNS))[0]["note"] == ""


def test_a_row_that_ends_early_is_filled_up() -> None:
    """Hand-written tables leave out trailing commas."""
    assert cells(read_table("id,name,note\nS1,Elm\n", COLUMNS))[0]["note"] == ""


def test_a_misspelt_column_is_answered_with_the_nearest_name() -> None:
    """One look at the message should be enough to mend the header."""
    found = sentences(read_table("id,nmae\nS1,Elm\n", COLUMNS))
    assert found == [
        "Line 1, column nmae: 'nmae' is no column of this table. Did you mean 'name'?",
        "Line 1, column name: The column 'name' is missing (words): add it, with values as Elm.",
    ]


def test_a_column_that_resembles_nothing_is_to_be_taken_out() -> None:
    """A stray column may hold what the owner believes is imported."""
    (found,) = sentences(read_table("id,name,zzz\nS1,Elm,x\n", COLUMNS))
    assert found.endswith("Take it out, or rename it.")


def test_a_column_twice_in_the_header_is_refused() -> None:
    """Which of the two is meant cannot be guessed."""
    (found,) = sentences(read_table("id,name,name\nS1,Elm,Oak\n", COLUMNS))
    assert "is there 2 times" in found


def test_a_column_without_a_name_between_others_is_refused() -> None:
    """Its values would be lost without a word."""
    (found,) = sentences(read_table("id,,name\nS1,x,Elm\n", COLUMNS))
    assert "no name" in found


def test_a_row_with_more_cells_than_columns_names_the_cause() -> None:
    """Most often an address with a comma was not quoted; the other rows are still read."""
    table = read_table("id,name,note\nS1,Elm,a,b\nS2,Oak,\n", COLUMNS)
    assert sentences(table) == [
        "Line 2, value 'b': There are 4 cells but 3 columns: a value that holds the separator "
        "must stand in quotes."
    ]
    assert [row.cells["id"] for row in table.rows] == ["S2"]


@pytest.mark.parametrize("text", ["", "\n\n", "\ufeff", "  \n ,, \n"])
def test_an_empty_file_is_answered_with_what_to_begin_with(text: str) -> None:
    """An export that went wrong is often empty."""
    (found,) = sentences(read_table(text, COLUMNS))
    assert found == "Line 1: The file is empty: begin with a line of column names, id, name."


def test_a_header_without_rows_is_refused() -> None:
    """Importing nothing would look like success."""
    (found,) = sentences(read_table("id,name\n", COLUMNS))
    assert "no row below" in found


def test_a_quote_that_is_never_closed_is_found_where_it_opens() -> None:
    """It swallows the rest of the file; the rows above it are still looked at."""
    table = read_table('id,name\nS1,Elm\nS2,"Oak\nS3,Ash\n', COLUMNS)
    (found,) = sentences(table)
    assert found.startswith("Line 3: The quotes of this line do not pair up")
    assert [row.cells["id"] for row in table.rows] == ["S1"]


def test_a_cell_of_a_thousand_characters_and_more_is_refused() -> None:
    """Something was pasted where it does not belong."""
    (found,) = sentences(read_table(f"id,name\nS1,{'x' * 1001}\n", COLUMNS))
    assert "1001 characters" in found
    assert len(found) < 200


def test_a_nul_character_is_found_with_its_line() -> None:
    """Binary content must end in a message, not in a crash of the reader."""
    (found,) = sentences(read_table("id,name\nS1,E\0lm\n", COLUMNS))
    assert found.startswith("Line 2: The line holds a NUL")


def test_utf_8_is_decoded_with_and_without_a_mark() -> None:
    """Spreadsheets put the mark, other tools do not."""
    assert decode("id,name\nS1,Peña\n".encode("utf-8-sig")) == "id,name\nS1,Peña\n"
    assert decode("S1,Peña".encode()) == "S1,Peña"


@pytest.mark.parametrize(
    ("data", "line", "words"),
    [
        ("id,name\nS1,Peña\n".encode("cp1252"), 2, "byte f1 is not UTF-8"),
        ("id,name\n".encode("utf-16"), 1, "UTF-16"),
        (b"PK\x03\x04rest of a workbook", 1, "workbook"),
    ],
)
def test_a_wrong_encoding_is_named_with_the_mend(data: bytes, line: int, words: str) -> None:
    """Guessing would turn names into rubbish without a word."""
    with pytest.raises(ImportRejected) as caught:
        decode(data)
    (problem,) = caught.value.problems
    assert isinstance(problem, RowProblem)
    assert problem.line == line
    assert words in problem.mend
    assert "CSV UTF-8" in problem.mend


def test_the_error_lists_problems_by_line_and_counts_them() -> None:
    """One report, read from the top of the file to its end."""
    second, first = RowProblem(9, "a", "", "X."), RowProblem(2, "b", "", "Y.")
    error = rejected([second, first])
    assert error.problems == (first, second)
    assert "2 problems and nothing of it was taken in" in str(error)
    assert "1 problem and" in str(rejected([first]))


def test_a_long_value_does_not_drown_its_sentence() -> None:
    """It is cut, and put on one line."""
    assert shorten("a\nb") == "a b"
    assert len(shorten("x" * 500)) == 60


def test_the_nearest_name_is_offered_only_when_it_is_near() -> None:
    """A wild guess would mislead."""
    assert nearest("Rythm", ["rhythm", "name"]) == " Did you mean 'rhythm'?"
    assert nearest("colour", ["rhythm", "name"]) == ""


WORDS = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n"), max_size=20
).map(str.strip)


@given(
    st.lists(st.tuples(WORDS.filter(bool), WORDS, WORDS), min_size=1, max_size=5),
    st.sampled_from(",;\t"),
)
def test_what_a_csv_writer_writes_is_read_back(
    rows: list[tuple[str, str, str]], delimiter: str
) -> None:
    """The standard library writes by RFC 4180; quotes, separators and line breaks survive."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerows([("id", "name", "note"), *rows])
    table = read_table(out.getvalue(), COLUMNS)
    assert table.problems == ()
    assert [tuple(row.cells.values()) for row in table.rows] == rows


@given(st.text(max_size=200))
def test_any_text_ends_in_rows_or_problems(text: str) -> None:
    """Never a traceback, never an empty success."""
    table = read_table(text, COLUMNS)
    assert table.rows or table.problems
