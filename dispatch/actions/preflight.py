"""What is wrong with a week before it is planned."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from sqlmodel import Session

from dispatch import preflight
from dispatch.actions.due import closed_days, visits_due
from dispatch.actions.lists import ListTable
from dispatch.actions.off_street import off_street
from dispatch.clock import IsoWeek
from dispatch.preflight import Finding
from dispatch.settings import Settings
from dispatch.store.book import read_sites, read_technicians


def week_findings(
    session: Session, settings: Settings, week: IsoWeek, today: date
) -> tuple[Finding, ...]:
    """What is wrong with `week` as seen on `today`; see `dispatch.preflight.findings`."""
    return preflight.findings(
        week,
        read_sites(session),
        read_technicians(session),
        visits_due(session, settings, week, today).due,
        closed_days=closed_days(settings, week),
        no_drive=off_street(session, settings),
    )


def finding_list(found: Iterable[Finding]) -> ListTable:
    """Findings with cause, thing, value and mend."""
    rows = tuple((str(one.cause), one.thing, one.value, one.mend) for one in found)
    return ListTable(("cause", "thing", "value", "mend"), rows)
