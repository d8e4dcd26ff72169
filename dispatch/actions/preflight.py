"""What is wrong with a week before it is planned."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from sqlmodel import Session

from dispatch import preflight
from dispatch.actions.due import closed_days, visits_due
from dispatch.actions.lists import ListTable
from dispatch.actions.off_days import off_days, off_findings
from dispatch.actions.off_street import off_street
from dispatch.clock import IsoWeek
from dispatch.errors import NotFound
from dispatch.preflight import Finding
from dispatch.settings import Settings
from dispatch.store.book import read_sites, read_technicians
from dispatch.store.plans import read_plan


def week_findings(
    session: Session, settings: Settings, week: IsoWeek, today: date
) -> tuple[Finding, ...]:
    """What is wrong with `week` as seen on `today`; see `dispatch.preflight.findings`.

    Of a week that has been planned, also who has stops on a day off.
    """
    technicians = read_technicians(session)
    found = preflight.findings(
        week,
        read_sites(session),
        technicians,
        visits_due(session, settings, week, today).due,
        closed_days=closed_days(settings, week),
        no_drive=off_street(session, settings),
    )
    try:
        plan = read_plan(session, week)
    except NotFound:
        return found
    return off_findings(off_days(session, settings, plan, technicians, today)) + found


def finding_list(found: Iterable[Finding]) -> ListTable:
    """Findings with cause, thing, value and mend."""
    rows = tuple((str(one.cause), one.thing, one.value, one.mend) for one in found)
    return ListTable(("cause", "thing", "value", "mend"), rows)
