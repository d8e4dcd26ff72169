"""The sites with the habits that a week is planned with."""

from __future__ import annotations

from sqlmodel import Session

from dispatch.clock import IsoWeek
from dispatch.sites import Site, still_served
from dispatch.standing.changes import sites_in
from dispatch.store.book import read_holds, read_sites
from dispatch.store.standing import read_planned_changes


def sites_of_week(session: Session, week: IsoWeek) -> list[Site]:
    """The sites as their standing routes are to be in `week`, dated changes included."""
    return sites_in(week, read_sites(session), read_planned_changes(session))


def sites_from_week(session: Session, week: IsoWeek) -> list[Site]:
    """As `sites_of_week`, without those that have left: what is counted on from `week` on."""
    return still_served(sites_of_week(session, week), read_holds(session), week.sunday)
