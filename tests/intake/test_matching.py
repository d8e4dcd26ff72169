from __future__ import annotations

import pytest

from dispatch.errors import ImportRejected, InvalidValue
from dispatch.intake.matching import guesses, renamed
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.intake.table import RowProblem
from dispatch.intake.technician_rows import TECHNICIAN_COLUMNS


def guessed(heading: str) -> list[str]:
    """Our columns for the headings of a table of sites."""
    return [one.column for one in guesses(f"{heading}\n", SITE_COLUMNS)]


def test_headings_in_plain_words_find_their_column() -> None:
    """As other people's tables say it."""
    assert guessed("Account Number,Customer Name,Service Address,Frequency,Gallons") == [
        *("id", "name", "address", "rhythm", "pool_volume_gal")
    ]
    assert guessed("ID;Latitude;Longitude;Service Min") == ["id", "lat", "lon", "service_min"]


def test_a_small_misspelling_does_no_harm_and_another_word_is_left_to_a_person() -> None:
    """Better no guess than a wrong one."""
    assert guessed("Adress,Lattitude,Favourite colour") == ["address", "lat", ""]


def test_a_column_is_guessed_once_and_for_the_closest_heading() -> None:
    """Two headings that sound like the name: the one that says it wins."""
    assert guessed("Client,Name") == ["", "name"]


def test_the_first_values_stand_beside_the_guess() -> None:
    """A person tells a column by what is in it."""
    (one, two) = guesses("Name,Monday\nInvented Alma,07:00-15:00\n", TECHNICIAN_COLUMNS)
    assert (one.column, one.samples) == ("name", ("Invented Alma",))
    assert (two.column, two.samples) == ("mon", ("07:00-15:00",))


def test_the_table_is_renamed_with_its_lines_in_place() -> None:
    """A problem must name the line of the file that the person has open."""
    text = 'No;Customer;Pet\n\nS1;"Invented\nOne";x\nS2;Invented Two;y\n'
    assert renamed(text, ["id", "name", ""]) == ("id,name\n\nS1,Invented One\n\nS2,Invented Two\n")


def test_a_column_chosen_twice_is_refused() -> None:
    """Which of the two would win nobody could say."""
    with pytest.raises(InvalidValue, match="'id' is chosen twice"):
        renamed("a,b\n1,2\n", ["id", "id"])
    with pytest.raises(InvalidValue, match="2 columns and 1 are matched"):
        renamed("a,b\n1,2\n", ["id"])


def test_an_empty_file_is_refused() -> None:
    """There is nothing to match."""
    with pytest.raises(ImportRejected):
        guesses("\n\n", SITE_COLUMNS)


def test_a_title_above_the_headings_is_told() -> None:
    """Left out, it made the headings the first row, and each of them was called no column."""
    text = "Customers of Invented Pools,\n,\nAccount,Customer\nA1,Ann\n"
    with pytest.raises(ImportRejected) as caught:
        renamed(text, [""])
    (problem,) = caught.value.problems
    assert isinstance(problem, RowProblem)
    assert "begins with a title" in problem.mend
