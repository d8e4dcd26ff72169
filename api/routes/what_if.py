"""What if, side by side with today, and when to hire."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from fastapi.responses import Response
from pydantic import BaseModel, Field

from api.csvs import csv_answer
from api.deps import JobsDep, ReadSession, SettingsDep
from api.schemas.job import StudyJobOut
from dispatch.actions import what_if
from dispatch.actions.what_if import Compared
from dispatch.rhythms import Rhythm
from dispatch.standing.hiring import MonthLoad

router = APIRouter(tags=["what if"])

Growth = Annotated[float, Query(ge=-50, le=50, description="percent a month, compounded")]


class SupposeIn(BaseModel):
    """A supposition; `leaves` and `hired` name a technician, `bought` a place."""

    kind: Literal["leaves", "hired", "bought", "rhythm"]
    technician_id: str | None = Field(default=None, max_length=64)
    count: int = Field(default=40, ge=1, le=500, description="pools bought")
    lat: float | None = Field(default=None, ge=-90, le=90)
    lon: float | None = Field(default=None, ge=-180, le=180)
    radius_m: float = Field(default=1500, ge=50, le=50_000)
    service_min: int = Field(default=30, ge=1, le=720)
    rhythm: Rhythm = Rhythm.WEEKLY


@router.post("/what-if", status_code=202)
def suppose(wish: SupposeIn, jobs: JobsDep, response: Response) -> StudyJobOut:
    """Begin to compare in the background; `Location` is where to watch it."""
    said = wish.model_dump(mode="json")
    what_if.supposition_of(said)
    job = jobs.study(what_if.STUDY, "", said)
    response.headers["Location"] = f"/api/jobs/{job.id}"
    return StudyJobOut.of(job)


@router.get("/what-if")
def show_compared(session: ReadSession) -> Compared:
    """The latest comparison: today and what if, a week on average."""
    return what_if.compared(session)


@router.get("/what-if.csv", response_class=Response)
def export_compared(session: ReadSession) -> Response:
    """One line for each figure."""
    return csv_answer("what-if", what_if.compared_list(what_if.compared(session)))


@router.get("/hiring")
def show_hiring(
    session: ReadSession, settings: SettingsDep, growth_percent: Growth = 0.0
) -> list[MonthLoad]:
    """The year's load against capacity, month by month; weeks that are over are left out."""
    return what_if.hiring(session, settings, settings.today(), growth_percent)


@router.get("/hiring.csv", response_class=Response)
def export_hiring(
    session: ReadSession, settings: SettingsDep, growth_percent: Growth = 0.0
) -> Response:
    """One line for each month."""
    months = what_if.hiring(session, settings, settings.today(), growth_percent)
    return csv_answer("hiring", what_if.month_list(months))
