from __future__ import annotations

from api.pages.marks import COLOURS, marks_of
from dispatch.places import Place
from dispatch.technicians import Shift, Technician


def technicians(*names: str) -> list[Technician]:
    home = Place(0, 0)
    shifts = (Shift(25_200, 55_800), *[None] * 6)
    return [Technician(f"T{n}", name, shifts, home, home) for n, name in enumerate(names, start=1)]


def letters(*names: str) -> list[str]:
    return [mark.letters for mark in marks_of(technicians(*names)).values()]


def test_one_letter_is_enough_where_it_tells_apart() -> None:
    """The shorter the mark, the better it reads on a pin."""
    assert letters("Alma", "Ben") == ["A", "B"]


def test_equal_letters_get_a_second_one() -> None:
    """Colour alone must never be the difference."""
    assert letters("Alma Ro", "Ada Li", "Alva Ro") == ["A", "AL", "AR"]


def test_even_equal_names_are_told_apart() -> None:
    """Two technicians may share a name."""
    assert letters("Bo", "Bo", "Bo") == ["B", "Bo", "Ba"]


def test_the_number_of_a_stop_is_never_part_of_the_letters() -> None:
    """D4 and stop 1 would read as D and stop 41."""
    found = letters(*["Devon K. 4"] * 60, "7")
    assert found[:3] == ["D", "DK", "De"]
    assert all(one.isalpha() for one in found)
    assert len(set(found)) == 61


def test_no_two_of_many_technicians_share_colour_and_dash() -> None:
    """With the eighth the colours begin again; the dash must then differ."""
    marks = marks_of(technicians(*[f"Name {n}" for n in range(COLOURS * COLOURS)])).values()

    assert len({(mark.colour, mark.dash) for mark in marks}) == COLOURS * COLOURS
    assert len({mark.letters for mark in marks}) == COLOURS * COLOURS
