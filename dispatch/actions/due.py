"""What is due in a week: visits, and upkeep of equipment."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from sqlmodel import Session

from dispatch import visits
from dispatch.actions.open_work import all_work
from dispatch.actions.sites_of_week import sites_of_week
from dispatch.actions.upkeep_now import upkeep_due, upkeep_unknown
from dispatch.clock import IsoWeek
from dispatch.closed_days import holiday_names as company_holidays
from dispatch.one_offs import OneOff
from dispatch.settings import Settings
from dispatch.sites import MONDAY_TO_FRIDAY, Hold, Site
from dispatch.store.book import read_holds, read_technicians
from dispatch.store.one_off_stops import read_one_off_days
from dispatch.technicians import Technician
from dispatch.visits import WeekDue

__all__ = [
    "closed_days",
    "holiday_names",
    "owed",
    "upkeep_due",
    "upkeep_unknown",
    "visits_due",
    "working_weekdays",
]

HOLIDAY_WEEKS_BEFORE = 4  # a turn left out by the rule was not missed; turns are 4 weeks apart


def visits_due(session: Session, settings: Settings, week: IsoWeek, today: date) -> WeekDue:
    """Visits owed in `week` as seen on `today`, and who is owed none, with the reason.

    Customers have the habits that the week is planned with, dated changes included.
    """
    return owed(
        settings,
        week,
        today,
        sites=sites_of_week(session, week),
        technicians=read_technicians(session),
        holds=read_holds(session),
        one_offs=all_work(session),
        planned=read_one_off_days(session, week),
    )


def owed(
    settings: Settings,
    week: IsoWeek,
    today: date,
    *,
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    holds: Sequence[Hold],
    one_offs: Sequence[OneOff],
    planned: Mapping[str, Sequence[date]],
) -> WeekDue:
    """What `visits.visits_due` says by the company's settings, once the book has been read."""
    weeks = [week]
    while len(weeks) <= HOLIDAY_WEEKS_BEFORE:
        weeks.append(weeks[-1].previous)
    holidays: frozenset[date] = frozenset().union(*(closed_days(settings, one) for one in weeks))
    return visits.visits_due(
        sites,
        week,
        today=today,
        holidays=holidays,
        holds=holds,
        working_weekdays=working_weekdays(technicians),
        holiday_rule=settings.holiday_rule,
        one_offs=one_offs,
        planned=planned,
    )


def working_weekdays(technicians: Iterable[Technician]) -> frozenset[int]:
    """Weekdays on which anybody has a shift; Monday to Friday while there is nobody."""
    shifts = [technician.shifts for technician in technicians]
    worked = frozenset(n for week in shifts for n, shift in enumerate(week) if shift is not None)
    return worked or MONDAY_TO_FRIDAY


def closed_days(settings: Settings, week: IsoWeek) -> frozenset[date]:
    """Days of `week` on which the company is closed."""
    return frozenset(holiday_names(settings, week))


def holiday_names(settings: Settings, week: IsoWeek) -> dict[date, str]:
    """Public holidays of `week` on which the company is closed, by day; none without a country."""
    if settings.country is None:
        return {}
    return company_holidays(
        settings.country, settings.subdivision, week, worked=settings.holidays_worked
    )
