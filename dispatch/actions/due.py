"""What is due in a week: visits, and upkeep of equipment."""

from __future__ import annotations

from datetime import date

from sqlmodel import Session

from dispatch import upkeep, visits
from dispatch.clock import IsoWeek
from dispatch.settings import Settings
from dispatch.store.book import read_holds, read_sites
from dispatch.upkeep import UnknownDate, UpkeepDue
from dispatch.visits import WeekDue


def visits_due(session: Session, settings: Settings, week: IsoWeek, today: date) -> WeekDue:
    """Visits owed in `week` as seen on `today`, and the sites owed none with the reason."""
    return visits.visits_due(
        read_sites(session),
        week,
        today=today,
        holidays=closed_days(settings, week),
        holds=read_holds(session),
    )


def upkeep_due(session: Session, week: IsoWeek) -> tuple[UpkeepDue, ...]:
    """Upkeep that may, should or must be done by the end of `week`."""
    return upkeep.upkeep_due(read_sites(session), week)


def upkeep_unknown(session: Session) -> tuple[UnknownDate, ...]:
    """Equipment without the date its upkeep is counted from."""
    return upkeep.upkeep_unknown(read_sites(session))


def closed_days(settings: Settings, week: IsoWeek) -> frozenset[date]:
    """Days of `week` on which the company is closed."""
    return frozenset(holiday_names(settings, week))


def holiday_names(settings: Settings, week: IsoWeek) -> dict[date, str]:
    """Public holidays of `week` on which the company is closed, by day; none without a country."""
    if settings.country is None:
        return {}
    return visits.holiday_names(
        settings.country, settings.subdivision, week, worked=settings.holidays_worked
    )
