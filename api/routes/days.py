"""Days: a technician's day sheet, and the loads of a week."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.day_loads import week_loads
from api.deps import CallerDep, DayPath, ReadSession, SettingsDep, WeekPath
from api.schemas.days import DayLoadOut, DaySheetOut
from dispatch.actions.gate_codes import opened_sheet
from dispatch.actions.lists import ListTable
from dispatch.actions.paper_day import paper_day
from dispatch.day.moments import clock_time

router = APIRouter(tags=["days"])

LOAD_COLUMNS = tuple(DayLoadOut.model_fields)


@router.get("/technicians/{technician_id}/days/{day}")
def show_day_sheet(
    session: ReadSession,
    settings: SettingsDep,
    caller: CallerDep,
    technician_id: str,
    day: DayPath,
) -> DaySheetOut:
    """A technician's ordered stops of one day, as published or else as planned, with what to load.

    Gate codes are there for the technician alone, signed in, on the day itself.
    """
    sheet = paper_day(session, settings, technician_id, day).sheet
    return DaySheetOut.of(opened_sheet(session, settings, caller, sheet))


@router.get("/technicians/{technician_id}/days/{day}/stops.csv", response_class=Response)
def export_day_sheet(
    session: ReadSession, settings: SettingsDep, technician_id: str, day: DayPath
) -> Response:
    """One line for each stop of the day, without gate codes."""
    sheet = paper_day(session, settings, technician_id, day).sheet
    rows = tuple(
        (
            row.number,
            row.site.id,
            row.site.name,
            row.site.address,
            clock_time(day, row.stop.start_s),
            clock_time(day, row.stop.leave_s),
            row.site.gate_note,
            row.site.dog_note,
            "; ".join(one.title for one in row.upkeep),
        )
        for row in sheet.stops
    )
    columns = ("number", "site_id", "name", "address", "start", "leave", "gate", "dog", "upkeep")
    return csv_answer(f"stops-{technician_id}-{day}", ListTable(columns, rows))


@router.get("/weeks/{week}/workloads")
def list_workloads(session: ReadSession, settings: SettingsDep, week: WeekPath) -> list[DayLoadOut]:
    """Seconds of service, upkeep, driving, break and slack per technician and day."""
    return [DayLoadOut.of(day) for load in week_loads(session, settings, week) for day in load.days]


@router.get("/weeks/{week}/workloads.csv", response_class=Response)
def export_workloads(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """One line for each technician and day, in seconds."""
    rows = tuple(
        tuple(one.model_dump().values()) for one in list_workloads(session, settings, week)
    )
    return csv_answer(f"workloads-{week}", ListTable(LOAD_COLUMNS, rows))
