"""Single cells into values."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import WEEKDAY_NAMES, WEEKDAYS
from dispatch.errors import InvalidValue
from dispatch.intake.parse import (
    parse_choice,
    parse_days,
    parse_equipment_day,
    parse_id,
    parse_list,
    parse_minutes,
    parse_number,
    parse_weekdays,
)
from dispatch.sites import Media, Rhythm


@pytest.mark.parametrize(
    ("text", "weekdays"),
    [
        ("Mon", {0}),
        ("Mon;Thu", {0, 3}),
        ("mon, thu", {0, 3}),
        ("Mon-Fri", {0, 1, 2, 3, 4}),
        ("Mon \N{EN DASH} Wed", {0, 1, 2}),  # a dash, as spreadsheets put it
        ("Sat-Mon", {5, 6, 0}),  # across the end of the week
        ("Mon-Tue;Friday", {0, 1, 4}),
        ("Sun-Sun", {6}),
    ],
)
def test_weekdays_are_read_as_people_write_them(text: str, weekdays: set[int]) -> None:
    """Lists, ranges and full names, in any case."""
    assert parse_weekdays(text) == weekdays


@given(st.frozensets(st.integers(0, 6), min_size=1), st.sampled_from([";", ",", " ", "; "]))
def test_any_list_of_weekdays_is_read_back(weekdays: frozenset[int], separator: str) -> None:
    """Short and full names mean the same days."""
    for names in (WEEKDAYS, WEEKDAY_NAMES):
        assert parse_weekdays(separator.join(names[n] for n in weekdays)) == weekdays


@pytest.mark.parametrize("text", ["Mo", "Mon-", "-Fri", "weekday", "1", ";", "Mon;Fr"])
def test_what_is_no_weekday_is_refused(text: str) -> None:
    """'Mo' or '1' could be read in more than one way; an empty list allows no day at all."""
    with pytest.raises(InvalidValue, match="as Mon;Thu"):
        parse_weekdays(text)


@pytest.mark.parametrize(
    ("text", "rhythm"),
    [
        ("weekly", Rhythm.WEEKLY),
        ("Twice a week", Rhythm.TWICE_A_WEEK),
        ("EVERY-2-WEEKS", Rhythm.EVERY_2_WEEKS),
        ("every 4  weeks", Rhythm.EVERY_4_WEEKS),
    ],
)
def test_a_choice_is_read_in_any_case_with_spaces_or_hyphens(text: str, rhythm: Rhythm) -> None:
    """The words count, not how they are joined."""
    assert parse_choice(Rhythm)(text) is rhythm


def test_an_unknown_choice_lists_what_is_known_and_what_may_be_meant() -> None:
    """An unknown rhythm must not become weekly by itself."""
    with pytest.raises(InvalidValue) as caught:
        parse_choice(Rhythm)("every-3-weeks")
    told = ", ".join(Rhythm)
    assert f"write one of {told}" in str(caught.value)
    with pytest.raises(InvalidValue, match="Did you mean 'cartridge'"):
        parse_choice(Media)("cartrige")


@pytest.mark.parametrize(
    ("text", "number"), [("15000", 15000.0), ("-111.93", -111.93), ("+.5", 0.5), ("7.", 7.0)]
)
def test_a_decimal_number_is_read(text: str, number: float) -> None:
    """A point for decimals, and a sign."""
    assert parse_number(text) == number


@pytest.mark.parametrize(
    "text", ["15,000", "33,45", "15 000", "15000 gal", "1e3", "nan", "inf", "٣"]
)
def test_a_number_that_can_be_misread_is_refused(text: str) -> None:
    """15,000 is fifteen in one country and fifteen thousand in another."""
    with pytest.raises(InvalidValue, match="decimal point"):
        parse_number(text)


@pytest.mark.parametrize("text", ["-5", "25.5", "25 min", "", "1e2"])
def test_minutes_are_whole_and_not_negative(text: str) -> None:
    """A visit of minus five minutes is a slip of the pen."""
    with pytest.raises(InvalidValue, match="whole number"):
        parse_minutes(text)


def test_words_of_a_list_are_folded_so_that_skills_meet() -> None:
    """'Media' of a site must meet 'media ' of a technician."""
    assert parse_list("Media; acid  wash ,media;") == {"media", "acid wash"}


def test_days_are_a_list_of_dates() -> None:
    """Each is checked by itself."""
    assert parse_days("2026-12-24; 2026-12-28") == {date(2026, 12, 24), date(2026, 12, 28)}
    with pytest.raises(InvalidValue, match="2026-12-32"):
        parse_days("2026-12-24;2026-12-32")


@pytest.mark.parametrize("text", ["S017", "küche_3", "a.b-c", "x" * 64])
def test_an_id_is_a_plain_word(text: str) -> None:
    """Letters of any language, digits and three signs."""
    assert parse_id(text) == text


@pytest.mark.parametrize("text", ["S 1", "S/1", "=A1", "-1", "", "x" * 65])
def test_an_id_that_would_break_names_built_on_it_is_refused(text: str) -> None:
    """Names of visits join id, week and number with a slash."""
    with pytest.raises(InvalidValue, match="is no id"):
        parse_id(text)


def test_unknown_stands_for_a_date_nobody_knows() -> None:
    """The anode is there, its age is not known: that is different from no anode."""
    assert parse_equipment_day("Unknown") is None
    assert parse_equipment_day("2024-05-02") == date(2024, 5, 2)
