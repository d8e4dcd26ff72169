"""Days on which the company is closed: public holidays, and what becomes of visits on them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from enum import StrEnum

from dispatch.clock import IsoWeek
from dispatch.errors import SettingsError
from dispatch.words import _


class HolidayRule(StrEnum):
    """What the company does with a visit whose usual day is a holiday.

    A visit never leaves its ISO week, so 'day-before' of a Monday becomes the day after.
    """

    NEAREST = "nearest"  # the open days around it, whichever suits the routes
    DAY_BEFORE = "day-before"
    DAY_AFTER = "day-after"
    SKIP = "skip"  # the visit is left out, and the customer is told


def holiday_names(
    country: str, subdivision: str | None, week: IsoWeek, *, worked: Iterable[str] = ()
) -> dict[date, str]:
    """Name the public holidays in a week, by day.

    The day itself counts, not a substitute day that public offices observe: the trade works the
    actual day (common practice).

    Parameters
    ----------
    country, subdivision
        ISO 3166-1 alpha-2 and the part of ISO 3166-2 after the hyphen, as 'US' and 'AZ'.
    week
        The week; it may lie in two years.
    worked
        Names of holidays on which the company works all the same, in any case, as 'Columbus Day'.

    Raises
    ------
    SettingsError
        When the country or the subdivision is not known.

    Source
    ------
    The PyPI package `holidays`.
    """
    import holidays  # here, because only few callers ask for holidays

    years = {week.monday.year, week.sunday.year}
    try:
        calendar = holidays.country_holidays(
            country, subdiv=subdivision or None, years=years, observed=False
        )
    except NotImplementedError as error:
        place = f"{country}-{subdivision}" if subdivision else country
        raise SettingsError(
            _(
                "No holidays are known for '{place}': give the country as two letters of ISO "
                "3166-1, as US, and the subdivision as in ISO 3166-2 without the country, as "
                "AZ, or leave it empty."
            ).format(place=place)
        ) from error
    not_closed = {name.casefold() for name in worked}
    named = ((day, calendar.get(day)) for day in week.days)
    return {day: name for day, name in named if name and name.casefold() not in not_closed}


def holidays_of(
    country: str, subdivision: str | None, week: IsoWeek, *, worked: Iterable[str] = ()
) -> frozenset[date]:
    """Days of a week on which the company is closed; parameters and errors of `holiday_names`."""
    return frozenset(holiday_names(country, subdivision, week, worked=worked))
