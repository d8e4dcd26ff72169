"""What is due in a week."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, WeekPath
from api.schemas.agreement import FindingOut
from api.schemas.due import UpkeepDueOut, WeekDueOut
from dispatch.actions import due, preflight
from dispatch.actions.week_lists import not_due_list, upkeep_list, visit_list

router = APIRouter(prefix="/weeks/{week}", tags=["due"])


@router.get("/visits-due")
def list_visits_due(session: ReadSession, settings: SettingsDep, week: WeekPath) -> WeekDueOut:
    """Every site with its visits due in the week, or the reason why none is."""
    return WeekDueOut.of(str(week), due.visits_due(session, settings, week, settings.today()))


@router.get("/visits-due.csv", response_class=Response)
def export_visits_due(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """One line for each site with visits due, and on which choices of days."""
    found = due.visits_due(session, settings, week, settings.today())
    return csv_answer(f"visits-due-{week}", visit_list(found.due))


@router.get("/not-due.csv", response_class=Response)
def export_not_due(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """One line for each site that is owed nothing, and why."""
    found = due.visits_due(session, settings, week, settings.today())
    return csv_answer(f"not-due-{week}", not_due_list(found.not_due))


@router.get("/upkeep-due")
def list_upkeep_due(session: ReadSession, week: WeekPath) -> list[UpkeepDueOut]:
    """Upkeep that may, should or must be done in the week, overdue included."""
    return [UpkeepDueOut.of(one) for one in due.upkeep_due(session, week)]


@router.get("/upkeep-due.csv", response_class=Response)
def export_upkeep_due(session: ReadSession, week: WeekPath) -> Response:
    """One line for each upkeep due, most urgent first."""
    return csv_answer(f"upkeep-due-{week}", upkeep_list(due.upkeep_due(session, week)))


@router.get("/findings")
def list_findings(session: ReadSession, settings: SettingsDep, week: WeekPath) -> list[FindingOut]:
    """What is wrong with the week before it is planned; the rest of it is planned all the same."""
    found = preflight.week_findings(session, settings, week, settings.today())
    return [FindingOut.of(one) for one in found]


@router.get("/findings.csv", response_class=Response)
def export_findings(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """One line for each finding: cause, thing, value, mend."""
    found = preflight.week_findings(session, settings, week, settings.today())
    return csv_answer(f"findings-{week}", preflight.finding_list(found))
