"""What each technician's weekday looks like when nothing special happens."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.actions.sites_of_week import sites_from_week
from dispatch.clock import WEEKDAYS, IsoWeek
from dispatch.sites import Site
from dispatch.store.book import read_technicians


@dataclass(frozen=True, slots=True)
class WeekdayFigures:
    """A technician's standing weekday: who is served, as agreed; minutes a week on average."""

    technician_id: str
    technician: str
    weekday: int
    site_ids: tuple[str, ...]
    sites: tuple[str, ...]
    service_min: float


def standing_days(session: Session, week: IsoWeek) -> list[WeekdayFigures]:
    """Each technician's weekdays as the service plans name them from `week` on.

    Customers who are used to no technician or to no weekday come under the empty name and -1.
    """
    names = {one.id: one.name for one in read_technicians(session)}
    by_day: dict[tuple[str, int], list[Site]] = defaultdict(list)
    for site in sites_from_week(session, week):
        if site.plan.rhythm_in(week) is not None:
            for weekday in sorted(site.plan.usual_weekdays) or [-1]:
                by_day[site.plan.usual_technician_id or "", weekday].append(site)
    return [
        WeekdayFigures(
            who,
            names.get(who, who),
            weekday,
            tuple(site.id for site in sites),
            tuple(site.name for site in sites),
            round(sum(_minutes(site, week) for site in sites), 1),
        )
        for (who, weekday), sites in sorted(by_day.items())
    ]


def standing_list(days: Iterable[WeekdayFigures]) -> ListTable:
    """One line for each customer of each standing weekday."""
    rows = tuple(
        (one.technician_id, one.technician, WEEKDAYS[one.weekday] if one.weekday >= 0 else "", *who)
        for one in days
        for who in zip(one.site_ids, one.sites, strict=True)
    )
    return ListTable(("technician_id", "technician", "weekday", "site_id", "site"), rows)


def _minutes(site: Site, week: IsoWeek) -> float:
    rhythm = site.plan.rhythm_in(week)
    return site.plan.service_min_in(week) / (1 if rhythm is None else rhythm.every_weeks)
