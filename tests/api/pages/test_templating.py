from __future__ import annotations

from datetime import date

from api.pages.templating import duration, span_of
from dispatch.clock import IsoWeek, long_day, short_day
from dispatch.words import counted


def test_durations_read_as_people_say_them() -> None:
    """Minutes below an hour; a full hour keeps its two digits so that columns line up."""
    assert duration(0) == "0 min"
    assert duration(1499) == "25 min"
    assert duration(3600) == "1 h 00"
    assert duration(21_900) == "6 h 05"


def test_a_duration_that_rounds_up_to_an_hour_is_an_hour() -> None:
    """'60 min' beside '1 h 00' would look like two things."""
    assert duration(3590) == "1 h 00"


def test_a_week_is_written_with_no_more_than_is_needed() -> None:
    """Within a month, across months, across years (ISO week 53 of 2026)."""
    assert span_of(IsoWeek(2026, 50)) == "7 to 13 December 2026"
    assert span_of(IsoWeek(2026, 49)) == "30 November to 6 December 2026"
    assert span_of(IsoWeek(2026, 53)) == "28 December 2026 to 3 January 2027"


def test_days_are_written_long_and_short() -> None:
    """30 November 2026 is a Monday."""
    assert long_day(date(2026, 11, 30)) == "Monday 30 November"
    assert short_day(date(2026, 11, 30)) == "Mon 30 Nov"


def test_nouns_follow_their_number() -> None:
    """'1 visits' is a small thing that everybody sees."""
    assert [counted("{n} visit", "{n} visits", n) for n in (0, 1, 2, 1200)] == [
        "0 visits", "1 visit", "2 visits", "1,200 visits",
    ]  # fmt: skip
