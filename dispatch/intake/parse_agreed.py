"""Cells with several parts that say what was agreed: windows, seasons, persons, minutes."""

from __future__ import annotations

import re
from datetime import date

from dispatch.clock import DAY_S, parse_day, parse_span
from dispatch.errors import InvalidValue
from dispatch.intake.parse import parse_choice, parse_minutes
from dispatch.rhythms import MONTHS, MonthDay, Rhythm, Season, check_seasons
from dispatch.service_plan import check_crew
from dispatch.windows import TimeWindow, check_windows
from dispatch.words import _

LONGEST_NIGHT_S = DAY_S // 2  # of a window past midnight; a longer one has its times swapped
NO_VISITS = "none"  # written for the rhythm of a season without visits
SEASON = re.compile(
    r"(?P<first>[A-Za-z]{3,9}-\d{1,2})\s*\.\.\s*(?P<last>[A-Za-z]{3,9}-\d{1,2})\s*=\s*"
    r"(?P<rhythm>[\w\- ]+?)(\s*/\s*(?P<minutes>\d+)\s*min)?"
)


def parse_windows(text: str) -> tuple[TimeWindow, ...]:
    """Windows of a day separated by ';', as '07:00-09:00;13:00-15:00', in any order.

    '22:00-01:00' goes past midnight, '00:30 (+1)-01:30 (+1)' lies after that of a night shift.
    """
    spans = sorted(_window_span(part.strip()) for part in text.split(";") if part.strip())
    windows = tuple(TimeWindow(*span) for span in spans)
    check_windows(windows)
    return windows


def _window_span(text: str) -> tuple[int, int]:
    """A span that may go past midnight; one that would last through the day is a slip."""
    start_s, end_s = parse_span(text)
    if start_s < DAY_S < end_s and end_s - start_s > LONGEST_NIGHT_S:
        raise InvalidValue(
            _(
                "The time window {text} would go past midnight and last more than 12 hours: give "
                "the start before the end, as 07:00-12:00, or a shorter one, as 22:00-01:00."
            ).format(text=text)
        )
    return start_s, end_s


def parse_seasons(text: str) -> tuple[Season, ...]:
    """Seasons separated by ';', as 'Nov-01..Feb-28=every-2-weeks' or '...=weekly/40min'."""
    seasons = tuple(_season(part.strip()) for part in text.split(";") if part.strip())
    check_seasons(seasons)
    return seasons


def parse_month_day(text: str) -> MonthDay:
    """A day of every year, as 'Nov-01'."""
    name, _rest, day = text.strip().partition("-")
    months = [n for n, month in enumerate(MONTHS, 1) if name.casefold()[:3] == month.casefold()]
    if not months or re.fullmatch(r"\d{1,2}", day, re.ASCII) is None:
        raise InvalidValue(
            _("'{text}' is no day of the year: write month and day, as Nov-01.").format(text=text)
        )
    return MonthDay(months[0], int(day))


def parse_count(text: str) -> int:
    """A whole number."""
    if re.fullmatch(r"\d{1,4}", text, re.ASCII) is None:
        raise InvalidValue(
            _("'{text}' is no whole number: write digits alone, as 2.").format(text=text)
        )
    return int(text)


def parse_persons_by_weekday(text: str) -> tuple[int, ...]:
    """Persons of each weekday, Monday first: one number for all, or seven separated by ';'."""
    counts = tuple(parse_count(part.strip()) for part in text.split(";"))
    if len(counts) not in (1, 7):
        raise InvalidValue(
            _(
                "'{text}' gives {number} numbers of persons: write one for every day, or seven "
                "from Monday to Sunday, as 2;2;1;1;1;1;1."
            ).format(text=text, number=len(counts))
        )
    for count in counts:
        check_crew(count)
    return counts if len(counts) == 7 else counts * 7


def parse_several_minutes(text: str) -> tuple[int, ...]:
    """Minutes of one visit after the other, separated by ';', as '180;30;30'."""
    return tuple(parse_minutes(part.strip()) for part in text.split(";") if part.strip())


def parse_ids(text: str) -> frozenset[str]:
    """Ids separated by ';', ',' or spaces, as they stand."""
    return frozenset(word for word in re.split(r"[;,\s]+", text) if word)


def parse_rising_days(text: str) -> tuple[date, ...]:
    """Dates separated by ';', ',' or spaces, the earliest first."""
    return tuple(sorted(parse_day(word) for word in re.split(r"[;,\s]+", text) if word))


def _season(text: str) -> Season:
    match = SEASON.fullmatch(text)
    if match is None:
        raise InvalidValue(
            _(
                "'{text}' is no season: write first and last day, the rhythm and perhaps the "
                "minutes, as Nov-01..Feb-28=every-2-weeks/20min, or ={no_visits} for no visits."
            ).format(text=text, no_visits=NO_VISITS)
        )
    rhythm = match["rhythm"]
    none = rhythm.strip().casefold() == NO_VISITS
    return Season(
        parse_month_day(match["first"]),
        parse_month_day(match["last"]),
        None if none else parse_choice(Rhythm)(rhythm),
        None if match["minutes"] is None else parse_minutes(match["minutes"]),
    )
