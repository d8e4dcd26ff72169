"""Upkeep: the company's table, the weeks that upkeep is spread over, and lives forecast."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import JobsDep, ReadSession, SettingsDep, WriteSession
from api.schemas.job import LevelJobOut
from api.schemas.upkeep import LevelIn, LevellingOut, UpkeepKindIn, UpkeepKindOut
from dispatch.actions import forecasts, level_upkeep, upkeep_table
from dispatch.upkeep_forecast import Forecast

router = APIRouter(prefix="/upkeep", tags=["upkeep"])


@router.get("/kinds")
def list_kinds(session: ReadSession) -> list[UpkeepKindOut]:
    """All kinds of upkeep, as the company has them."""
    changed = upkeep_table.changed(session)
    return [
        UpkeepKindOut.of(rule, changed=rule.kind in changed) for rule in upkeep_table.kinds(session)
    ]


@router.get("/kinds.csv", response_class=Response)
def export_kinds(session: ReadSession) -> Response:
    """One line for each kind of upkeep."""
    return csv_answer("upkeep-kinds", upkeep_table.kind_list(upkeep_table.kinds(session)))


@router.put("/kinds/{kind}")
def change_kind(kind: str, wish: UpkeepKindIn, session: WriteSession) -> UpkeepKindOut:
    """Change fields of a kind, all or nothing."""
    return UpkeepKindOut.of(upkeep_table.change_kind(session, kind, wish.fields), changed=True)


@router.delete("/kinds/{kind}")
def reset_kind(kind: str, session: WriteSession) -> UpkeepKindOut:
    """Take a kind back to what was delivered."""
    return UpkeepKindOut.of(upkeep_table.reset_kind(session, kind), changed=False)


@router.post("/levelling", status_code=202)
def start_levelling(wish: LevelIn, jobs: JobsDep, response: Response) -> LevelJobOut:
    """Begin to spread upkeep in the background; `Location` is where to watch it."""
    job = jobs.level_upkeep(wish.weeks)
    response.headers["Location"] = f"/api/jobs/{job.id}"
    return LevelJobOut.of(job)


@router.get("/levelling")
def show_levelling(session: ReadSession) -> LevellingOut:
    """The latest spreading of upkeep."""
    return LevellingOut.of(level_upkeep.latest(session))


@router.get("/levelling.csv", response_class=Response)
def export_levelling(session: ReadSession) -> Response:
    """One line for each upkeep with the week it is set for."""
    return csv_answer("upkeep-weeks", level_upkeep.slot_list(level_upkeep.latest(session).slots))


@router.get("/left-out.csv", response_class=Response)
def export_left_out(session: ReadSession) -> Response:
    """One line for each upkeep that found no week."""
    return csv_answer(
        "upkeep-left-out", level_upkeep.left_out_list(level_upkeep.latest(session).left_out)
    )


@router.get("/year.csv", response_class=Response)
def export_year(session: ReadSession) -> Response:
    """One line for each technician and week, in minutes."""
    return csv_answer("year", level_upkeep.load_list(level_upkeep.latest(session).loads))


@router.get("/forecasts")
def list_forecasts(session: ReadSession, settings: SettingsDep) -> list[Forecast]:
    """Remaining lives of anodes, cells and filter media, soonest first."""
    return list(forecasts.forecasts(session, settings.today()))


@router.get("/forecasts.csv", response_class=Response)
def export_forecasts(session: ReadSession, settings: SettingsDep) -> Response:
    """One line for each part whose life is forecast."""
    found = forecasts.forecasts(session, settings.today())
    return csv_answer("upkeep-forecasts", forecasts.forecast_list(found))
