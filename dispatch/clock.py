"""ISO weeks and times of day.

A day is a `date`; a time of day is seconds after local midnight, so that arithmetic with drive
times stays in one unit. Weeks are those of ISO 8601-1:2019: they begin on Monday, and week 1
holds the year's first Thursday.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from dispatch.errors import InvalidValue
from dispatch.words import N_, _, gettext

WEEKDAYS = (N_("Mon"), N_("Tue"), N_("Wed"), N_("Thu"), N_("Fri"), N_("Sat"), N_("Sun"))
WEEKDAY_NAMES = (
    N_("Monday"), N_("Tuesday"), N_("Wednesday"), N_("Thursday"), N_("Friday"), N_("Saturday"),
    N_("Sunday"),
)  # fmt: skip
DAY_S = 86_400  # seconds in a day without a clock change


@dataclass(frozen=True, slots=True, order=True)
class IsoWeek:
    """One ISO 8601 week, written 2026-W49.

    Raises
    ------
    InvalidValue
        When the year has no such week (only some years have a week 53; 2026 has).
    """

    year: int
    week: int

    def __post_init__(self) -> None:
        try:
            date.fromisocalendar(self.year, self.week, 1)
        except ValueError as error:
            raise InvalidValue(
                _(
                    "{year}-W{week:02d} is no week of the calendar: {year} has weeks 1 to "
                    "{weeks_in_year}."
                ).format(year=self.year, week=self.week, weeks_in_year=weeks_in_year(self.year))
            ) from error

    @classmethod
    def parse(cls, text: str) -> IsoWeek:
        """Read `2026-W49`; raises InvalidValue on anything else."""
        match = re.fullmatch(r"(\d{4})-?W(\d{2})", text.strip())
        if match is None:
            raise InvalidValue(
                _(
                    "'{text}' is no ISO week: write the year, '-W' and two digits, as in 2026-W49."
                ).format(text=text)
            )
        return cls(int(match[1]), int(match[2]))

    @classmethod
    def of(cls, day: date) -> IsoWeek:
        """The week that holds `day`."""
        year, week, _ = day.isocalendar()
        return cls(year, week)

    @property
    def monday(self) -> date:
        """First day of the week."""
        return date.fromisocalendar(self.year, self.week, 1)

    @property
    def sunday(self) -> date:
        """Last day of the week."""
        return self.monday + timedelta(days=6)

    @property
    def days(self) -> tuple[date, ...]:
        """The seven days, Monday first."""
        return tuple(self.monday + timedelta(days=n) for n in range(7))

    @property
    def next(self) -> IsoWeek:
        """The week after."""
        return IsoWeek.of(self.monday + timedelta(days=7))

    @property
    def previous(self) -> IsoWeek:
        """The week before."""
        return IsoWeek.of(self.monday - timedelta(days=7))

    def __str__(self) -> str:
        return f"{self.year}-W{self.week:02d}"


def weeks_in_year(year: int) -> int:
    """52 or 53: 28 December always lies in the last week (ISO 8601)."""
    return date(year, 12, 28).isocalendar().week


def parse_time(text: str) -> int:
    """Seconds after midnight of `HH:MM` (24-hour, ISO 8601; 24:00 is the end of the day).

    Raises
    ------
    InvalidValue
        When the text is no time of day.
    """
    match = re.fullmatch(r"(\d{1,2}):(\d{2})", text.strip())
    if match is not None:
        hour, minute = int(match[1]), int(match[2])
        if minute < 60 and hour * 60 + minute <= 24 * 60:
            return hour * 3600 + minute * 60
    raise InvalidValue(
        _("'{text}' is no time of day: write it as HH:MM on a 24-hour clock, as 07:30.").format(
            text=text
        )
    )


def format_time(seconds: int) -> str:
    """`HH:MM` of seconds after midnight, rounded down to the minute."""
    return f"{seconds // 3600:02d}:{seconds % 3600 // 60:02d}"


def weekday_short(day: date) -> str:
    """The weekday in short in the reader's language, as 'Mon'."""
    return gettext(WEEKDAYS[day.weekday()])


def weekday_name(day: date) -> str:
    """The weekday in the reader's language, as 'Monday'."""
    return gettext(WEEKDAY_NAMES[day.weekday()])


def parse_day(text: str) -> date:
    """The date of `YYYY-MM-DD` (ISO 8601).

    Raises
    ------
    InvalidValue
        When the text is no date.
    """
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise InvalidValue(
            _("'{text}' is no date: write year-month-day, as in 2026-11-30.").format(text=text)
        ) from error
