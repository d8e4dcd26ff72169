"""Rhythms: how often a site is visited, and the seasons in which that differs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from dispatch.errors import InvalidValue
from dispatch.words import _

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
LEAP_YEAR = 2024  # any; it holds every month-day there is


class Rhythm(StrEnum):
    """How often a site is visited."""

    THREE_TIMES_A_WEEK = "three-times-a-week"
    TWICE_A_WEEK = "twice-a-week"
    WEEKLY = "weekly"
    EVERY_2_WEEKS = "every-2-weeks"
    EVERY_4_WEEKS = "every-4-weeks"

    @property
    def visits_per_week(self) -> int:
        """Visits in a week in which the site is served."""
        return {Rhythm.THREE_TIMES_A_WEEK: 3, Rhythm.TWICE_A_WEEK: 2}.get(self, 1)

    @property
    def every_weeks(self) -> int:
        """Weeks from one served week to the next."""
        return {Rhythm.EVERY_2_WEEKS: 2, Rhythm.EVERY_4_WEEKS: 4}.get(self, 1)


@dataclass(frozen=True, slots=True, order=True)
class MonthDay:
    """A day of every year, written Nov-01; Feb-29 exists in leap years alone."""

    month: int
    day: int

    def __post_init__(self) -> None:
        try:
            date(LEAP_YEAR, self.month, self.day)
        except ValueError as error:
            raise InvalidValue(
                _("Month {month}, day {day} is no day of the year: write it as Nov-01.").format(
                    month=self.month, day=self.day
                )
            ) from error

    @classmethod
    def of(cls, day: date) -> MonthDay:
        """The month and day of `day`."""
        return cls(day.month, day.day)

    def __str__(self) -> str:
        return f"{MONTHS[self.month - 1]}-{self.day:02d}"


@dataclass(frozen=True, slots=True)
class Season:
    """A rule for a part of every year, both days included; it may run over New Year.

    `rhythm` is that of the season, None when no visits are made in it (a pool closed for the
    winter). `service_min` are its minutes of a visit, None for those of the service plan.
    """

    first: MonthDay
    last: MonthDay
    rhythm: Rhythm | None
    service_min: int | None = None

    def covers(self, day: date) -> bool:
        """Whether `day` lies in the season, whatever its year."""
        at = MonthDay.of(day)
        if self.first <= self.last:
            return self.first <= at <= self.last
        return at >= self.first or at <= self.last

    def __str__(self) -> str:
        minutes = "" if self.service_min is None else f"/{self.service_min}min"
        return f"{self.first}..{self.last}={self.rhythm or 'none'}{minutes}"


def check_seasons(seasons: Sequence[Season]) -> None:
    """Refuse seasons of which two claim the same day of the year.

    Raises
    ------
    InvalidValue
        Naming the two.
    """
    for n, one in enumerate(seasons):
        for other in seasons[n + 1 :]:
            if _overlap(one, other):
                raise InvalidValue(
                    _(
                        "The seasons {one} and {other} claim the same days: end one before the "
                        "other begins."
                    ).format(one=one, other=other)
                )


def _overlap(one: Season, other: Season) -> bool:
    """Two spans round a circle share a day when either begins in the other."""
    starts = [date(LEAP_YEAR, season.first.month, season.first.day) for season in (one, other)]
    return other.covers(starts[0]) or one.covers(starts[1])
