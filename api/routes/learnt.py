"""What records teach: minutes, paces, drive times; and what a truck has to carry."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import DayPath, ReadSession, SettingsDep, UnitsDep
from api.schemas.learnt import DrivesOut, LoadOut, PacesOut, SiteMinutesOut, VisitMinutesOut
from dispatch.actions import learnt, learnt_lists
from dispatch.actions.loads import load_table
from dispatch.actions.paper_day import loaded_day

router = APIRouter(tags=["learnt"])


@router.get("/learnt/minutes")
def list_minutes(session: ReadSession, settings: SettingsDep) -> list[SiteMinutesOut]:
    """Each site's minutes agreed, planned, actual and learnt."""
    return [SiteMinutesOut.of(one) for one in learnt.planned_and_actual(session, settings)]


@router.get("/learnt/minutes.csv", response_class=Response)
def export_minutes(session: ReadSession, settings: SettingsDep) -> Response:
    """Each site's minutes as a table."""
    rows = learnt.planned_and_actual(session, settings)
    return csv_answer("minutes", learnt_lists.minutes_list(rows))


@router.get("/learnt/visits")
def list_visits(
    session: ReadSession, settings: SettingsDep, site: str | None = None
) -> list[VisitMinutesOut]:
    """Planned and actual minutes of each visit, newest first."""
    return [VisitMinutesOut.of(one) for one in learnt.visit_minutes(session, settings, site)]


@router.get("/learnt/visits.csv", response_class=Response)
def export_visits(session: ReadSession, settings: SettingsDep, site: str | None = None) -> Response:
    """Planned and actual minutes of each visit as a table."""
    rows = learnt.visit_minutes(session, settings, site)
    return csv_answer("visit-minutes", learnt_lists.visit_minutes_list(rows))


@router.get("/learnt/paces")
def show_paces(session: ReadSession, settings: SettingsDep) -> PacesOut:
    """Technicians' paces, the minutes that upkeep adds, and the months' factors."""
    return PacesOut.of(learnt.learnt_minutes(session, settings))


@router.get("/learnt/drives")
def show_drives(session: ReadSession, settings: SettingsDep) -> DrivesOut:
    """Factors of drive times from the gaps between stops, or that there is too little data."""
    return DrivesOut.of(learnt.learn_drives(session, settings))


@router.get("/learnt/drives.csv", response_class=Response)
def export_drives(session: ReadSession, settings: SettingsDep) -> Response:
    """Factors of drive times as a table."""
    return csv_answer("drives", learnt_lists.drive_list(learnt.learn_drives(session, settings)))


@router.get("/technicians/{technician_id}/days/{day}/load")
def show_load(
    session: ReadSession, settings: SettingsDep, units: UnitsDep, technician_id: str, day: DayPath
) -> LoadOut:
    """What goes on a truck for a day, acid and chlorine apart, and which limits it passes.

    It is that of the published route, or of the planned one before that.
    """
    customary = units.customary
    return LoadOut.of(loaded_day(session, settings, technician_id, day, customary=customary)[1])


@router.get("/technicians/{technician_id}/days/{day}/load.csv", response_class=Response)
def export_load(
    session: ReadSession, settings: SettingsDep, units: UnitsDep, technician_id: str, day: DayPath
) -> Response:
    """What goes on a truck for a day, as a table."""
    customary = units.customary
    _sheet, found = loaded_day(session, settings, technician_id, day, customary=customary)
    return csv_answer(f"load-{technician_id}-{day}", load_table(found))
