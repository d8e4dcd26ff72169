"""Cells of one row: problems are noted and reading goes on."""

from datetime import date

import pytest

from dispatch.errors import AddressNotFound, InvalidValue, NoMap
from dispatch.intake.cells import Cells, Ids, check_known, read_place
from dispatch.intake.parse import parse_minutes
from dispatch.intake.table import Column, Row
from dispatch.places import Place

TODAY = date(2026, 11, 25)
ELM = Place(33.45, -111.93)  # invented


def row(**cells: str) -> Cells:
    return Cells(Row(7, cells))


def find_elm(words: str) -> Place:
    if words == "12 Elm Street":
        return ELM
    raise AddressNotFound(f"No address point answers to '{words}': give lat and lon instead.")


def place(**given: str) -> tuple[Place | None, list[str]]:
    cells = Cells(Row(7, {"lat": "", "lon": "", "address": "", **given}))
    found = read_place(cells, "", "address", find_elm)
    return found, [problem.sentence for problem in cells.problems]


def test_a_wrong_cell_is_noted_with_line_column_and_value() -> None:
    """The four things that are needed to mend it."""
    cells = row(service_min="-5")
    assert cells.read("service_min", parse_minutes, 1) == 1
    (problem,) = cells.problems
    assert (problem.line, problem.column, problem.value) == (7, "service_min", "-5")
    assert problem.sentence == (
        "Line 7, column service_min: '-5' is no number of minutes: write a whole number, as 25."
    )
    assert cells.failed("service_min")


def test_an_empty_cell_is_its_default_and_no_problem() -> None:
    """Optional means optional."""
    cells = row(service_min="")
    assert cells.read("service_min", parse_minutes, 25) == 25
    assert cells.problems == []


def test_a_required_cell_that_is_empty_says_what_belongs_there() -> None:
    """The column's meaning is the mend."""
    cells = row(id="", note="")
    cells.require((Column("id", "a short name", "S1", required=True), Column("note", "words", "x")))
    assert [problem.sentence for problem in cells.problems] == [
        "Line 7, column id: The cell is empty: give a short name."
    ]


def test_a_note_that_says_there_is_nothing_is_empty() -> None:
    """'no' in the column of the dog must not warn of a dog."""
    for text in ("no", "None", "-", "N/A"):
        assert row(dog=text).note("dog") == ""
    assert row(dog="no entry when loose").note("dog") == "no entry when loose"


def test_a_day_done_may_not_lie_after_today_nor_in_another_age() -> None:
    """2062 for 2026 would hide a filter from upkeep for decades; 0202 would make it overdue."""
    for text, words in (
        ("2026-11-26", "lies after today"),
        ("1902-11-01", "not believable"),
        ("0202-11-01", "outside the years 1900 to 2199"),
    ):
        cells = row(last=text)
        cells.past_day("last", TODAY)
        assert words in cells.problems[0].mend
    assert row(last="2026-11-25").past_day("last", TODAY) == TODAY
    assert row(last="2062-01-01").past_day("last", None) == date(2062, 1, 1)


def test_a_scheduled_day_may_not_lie_more_than_a_year_ahead() -> None:
    """A site anchored in 2062 would not be visited before."""
    cells = row(anchor="2062-12-01")
    cells.coming_day("anchor", TODAY)
    assert "more than a year after today" in cells.problems[0].mend
    fine = row(anchor="2027-11-01")
    assert fine.coming_day("anchor", TODAY) == date(2027, 11, 1)
    assert fine.problems == []


def test_coordinates_come_before_the_address() -> None:
    """The gate is where somebody put it, not where the address point is."""
    assert place(lat="33.5", lon="-112", address="12 Elm Street") == (Place(33.5, -112.0), [])


def test_an_address_is_found_when_there_are_no_coordinates() -> None:
    """The map's own address points answer."""
    assert place(address="12 Elm Street") == (ELM, [])


@pytest.mark.parametrize(
    ("given", "column", "words"),
    [
        ({}, "address", "neither an address nor lat and lon"),
        ({"lat": "33.5"}, "lon", "give both or neither"),
        ({"lon": "-112", "address": "12 Elm Street"}, "lat", "give both or neither"),
        ({"lat": "-112", "lon": "33.5"}, "lat", "swapped"),
        ({"lat": "0", "lon": "0.0"}, "lat", "in the sea"),
        ({"lat": "33,5", "lon": "-112"}, "lat", "decimal point"),
        ({"address": "99 Nowhere"}, "address", "No address point answers to '99 Nowhere'"),
    ],
)
def test_a_place_that_cannot_be_told_is_a_problem_of_its_column(
    given: dict[str, str], column: str, words: str
) -> None:
    """Swapped, missing, half given, in the ocean, or an address that nobody knows."""
    found, problems = place(**given)
    assert found is None
    assert len(problems) == 1
    assert f"column {column}" in problems[0]
    assert words in problems[0]


def test_trouble_that_is_not_the_rows_own_ends_the_reading() -> None:
    """Without a map no address can be found: said once, not once for each row."""

    def no_map(words: str) -> Place:
        raise NoMap("No street map has been built yet.")

    with pytest.raises(NoMap):
        read_place(row(lat="", lon="", address="12 Elm Street"), "", "address", no_map)


def test_an_id_twice_names_the_line_of_the_first() -> None:
    """The second would replace the first without a word."""
    ids = Ids()
    first, second = Cells(Row(2, {"id": "S1"})), Cells(Row(5, {"id": "S1"}))
    ids.check(first)
    ids.check(second)
    assert first.problems == []
    assert "stands on line 2 already" in second.problems[0].mend


@pytest.mark.parametrize("known", [(), ("S1",)])
def test_an_id_in_other_letters_is_not_a_second_customer(known: tuple[str, ...]) -> None:
    """s1 beside S1 would be visited, and billed, twice; a book that has both keeps them."""
    ids = Ids(known)
    first, second = Cells(Row(2, {"id": "S1"})), Cells(Row(3, {"id": "s1"}))
    ids.check(first)
    ids.check(second)
    assert first.problems == []
    assert "is 'S1' in other letters" in second.problems[0].mend

    both = Ids(("S1", "s1"))
    for cells in (Cells(Row(2, {"id": "S1"})), Cells(Row(3, {"id": "s1"}))):
        both.check(cells)
        assert cells.problems == []


def test_an_unknown_id_is_answered_with_the_nearest_known() -> None:
    """A typing slip is mended at a glance; without a list nothing is checked."""
    cells = row(usual="Alise")
    check_known(cells, "usual", "technician", ["Alice", "Bo"])
    assert "Did you mean 'Alice'?" in cells.problems[0].mend
    unchecked = row(usual="Alise")
    check_known(unchecked, "usual", "technician", None)
    assert unchecked.problems == []


def test_too_many_minutes_are_a_number_all_the_same() -> None:
    """'100000 is no number' would send the reader looking for a typing error."""
    with pytest.raises(InvalidValue, match="100000 minutes are not believable"):
        parse_minutes("100000")
