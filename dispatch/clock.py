"""ISO weeks and times of day.

A day is a `date`; a time of day is seconds after local midnight, so that arithmetic with drive
times stays in one unit. A night shift keeps the day on which it began and counts on beyond 24:00,
as the service days of the General Transit Feed Specification do; a time after its midnight is
written `02:00 (+1)`, because ISO 8601 has no hour beyond 24. Weeks are those of ISO 8601-1:2019:
they begin on Monday, and week 1 holds the year's first Thursday.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from dispatch.errors import InvalidValue
from dispatch.words import N_, _, gettext

WEEKDAYS = (N_("Mon"), N_("Tue"), N_("Wed"), N_("Thu"), N_("Fri"), N_("Sat"), N_("Sun"))
WEEKDAY_NAMES = (
    N_("Monday"), N_("Tuesday"), N_("Wednesday"), N_("Thursday"), N_("Friday"), N_("Saturday"),
    N_("Sunday"),
)  # fmt: skip
MONTHS = (
    N_("January"), N_("February"), N_("March"), N_("April"), N_("May"), N_("June"), N_("July"),
    N_("August"), N_("September"), N_("October"), N_("November"), N_("December"),
)  # fmt: skip
SHORT_MONTHS = (
    N_("Jan"), N_("Feb"), N_("Mar"), N_("Apr"), N_("May"), N_("Jun"), N_("Jul"), N_("Aug"),
    N_("Sep"), N_("Oct"), N_("Nov"), N_("Dec"),
)  # fmt: skip
DAY_S = 86_400  # seconds in a day without a clock change
DASH = "[-\N{EN DASH}]"  # spreadsheets turn a hyphen between times into a dash
NOON_S = 43_200
LAST_S = 2 * DAY_S  # the latest time of a working day: the midnight that ends the day after
YEARS = range(1900, 2200)  # of weeks and days that people name; any other is a slip of the pen


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
        """Read `2026-W49`; raises InvalidValue on anything else, and on a year not in `YEARS`."""
        match = re.fullmatch(r"(\d{4})-?W(\d{2})", text.strip())
        if match is None:
            raise InvalidValue(
                _(
                    "'{text}' is no ISO week: write the year, '-W' and two digits, as in 2026-W49."
                ).format(text=text)
            )
        _check_year(int(match[1]), text)
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
        monday = self.monday
        return tuple(monday + timedelta(days=n) for n in range(7))

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

    With `(+1)` or `+1` behind it the time is one of the day after, as in `02:00 (+1)`.

    Raises
    ------
    InvalidValue
        When the text is no time of day.
    """
    match = re.fullmatch(r"(\d{1,2}):(\d{2})(\s*\(\+1\)|\s*\+1)?", text.strip(), re.ASCII)
    if match is not None:
        hour, minute = int(match[1]), int(match[2])
        if minute < 60 and hour * 60 + minute <= 24 * 60:
            return hour * 3600 + minute * 60 + (DAY_S if match[3] else 0)
    raise InvalidValue(
        _(
            "'{text}' is no time of day: write it as HH:MM on a 24-hour clock, as 07:30, or as "
            "02:00 (+1) where it lies after midnight in a night shift."
        ).format(text=text)
    )


def format_time(seconds: int) -> str:
    """`HH:MM` of seconds after midnight, rounded down to the minute, as `parse_time` reads it.

    A time of the day after carries `(+1)`: 26 hours are `02:00 (+1)`.
    """
    later = max(0, -(-seconds // DAY_S) - 1)
    clock = wall_time(seconds - later * DAY_S)
    return f"{clock} (+{later})" if later else clock


def wall_time(seconds: int) -> str:
    """`HH:MM` of seconds after midnight up to 24:00, and of later ones what a clock shows."""
    within = seconds if seconds <= DAY_S else seconds % DAY_S
    return f"{within // 3600:02d}:{within % 3600 // 60:02d}"


def parse_span(text: str) -> tuple[int, int]:
    """Two times of day, as '07:00-12:00'; seconds after local midnight.

    An end before the start lies on the day after: '22:00-01:00' ends at 25 hours.

    Raises
    ------
    InvalidValue
        When the text is no such span.
    """
    parts = re.split(rf"\s*{DASH}\s*", text.strip())
    if len(parts) != 2:
        raise InvalidValue(
            _(
                "'{text}' is no span of the day: write two times with a hyphen, as 07:00-12:00."
            ).format(text=text)
        )
    start_s, end_s = parse_time(parts[0]), parse_time(parts[1])
    return start_s, end_s + DAY_S if end_s < start_s else end_s


def format_span(start_s: int, end_s: int) -> str:
    """Two times of day as `parse_span` reads them, and as shifts and windows are imported."""
    if start_s < DAY_S < end_s and end_s - DAY_S < start_s:
        return f"{wall_time(start_s)}-{wall_time(end_s)}"
    return f"{format_time(start_s)}-{format_time(end_s)}"


def day_over_s(end_s: int) -> int:
    """When a working day that is to end at `end_s` is over at the latest, in its seconds.

    At midnight, and after a night shift at noon of the next day: nobody is out any longer, and
    whoever forgot to end the day is not looked for for ever (our own choice).
    """
    return DAY_S if end_s <= DAY_S else min(LAST_S, max(end_s, DAY_S + NOON_S))


def is_of_day(at: datetime, day: date) -> bool:
    """Whether a local moment lies on `day` or in the night that follows, up to noon."""
    into_night = at.date() == day + timedelta(days=1) and at.hour * 3600 < NOON_S
    return at.date() == day or into_night


def short_day(day: date, beside: date | None = None) -> str:
    """A day in short, as 'Mon 30 Nov'; with its year where `beside` lies in another."""
    if beside is not None and beside.year != day.year:
        return _("{weekday} {day}").format(weekday=weekday_short(day), day=full_date(day))
    month = _(SHORT_MONTHS[day.month - 1])
    return _("{weekday} {day} {month}").format(weekday=weekday_short(day), day=day.day, month=month)


def full_date(day: date) -> str:
    """A day with its year, as '30 Nov 2026'."""
    month = _(SHORT_MONTHS[day.month - 1])
    return _("{day} {month} {year}").format(day=day.day, month=month, year=day.year)


def weekday_short(day: date) -> str:
    """The weekday in short in the reader's language, as 'Mon'."""
    return gettext(WEEKDAYS[day.weekday()])


def weekday_name(day: date) -> str:
    """The weekday in the reader's language, as 'Monday'."""
    return gettext(WEEKDAY_NAMES[day.weekday()])


def long_day(day: date) -> str:
    """A day in words, as 'Monday 30 November'."""
    month = _(MONTHS[day.month - 1])
    return _("{weekday} {day} {month}").format(weekday=weekday_name(day), day=day.day, month=month)


def parse_day(text: str) -> date:
    """The date of `YYYY-MM-DD` (ISO 8601).

    Raises
    ------
    InvalidValue
        When the text is no date, or its year is not in `YEARS`.
    """
    try:
        found = date.fromisoformat(text.strip())
    except ValueError as error:
        raise InvalidValue(
            _("'{text}' is no date: write year-month-day, as in 2026-11-30.").format(text=text)
        ) from error
    return named_day(found)


def named_day(day: date) -> date:
    """The day as somebody named it; raises InvalidValue when its year is not in `YEARS`."""
    _check_year(day.year, str(day))
    return day


def _check_year(year: int, text: str) -> None:
    """Refuse a year at whose end the calendar itself may end, or before anybody had a pool."""
    if year not in YEARS:
        raise InvalidValue(
            _("'{text}' lies outside the years {first} to {last}: mend the year.").format(
                text=text, first=YEARS[0], last=YEARS[-1]
            )
        )
