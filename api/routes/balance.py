"""The balance of a week: the curve between even hours and driving."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import JobsDep, ReadSession, WeekPath
from api.schemas.job import StudyJobOut
from dispatch.actions import balance
from dispatch.actions.balance import CurveFigures

router = APIRouter(prefix="/weeks", tags=["balance"])


@router.post("/{week}/balance", status_code=202)
def start_balance(week: WeekPath, jobs: JobsDep, response: Response) -> StudyJobOut:
    """Begin to reckon the curve in the background; `Location` is where to watch it."""
    job = jobs.study(balance.STUDY, str(week), {})
    response.headers["Location"] = f"/api/jobs/{job.id}"
    return StudyJobOut.of(job)


@router.get("/{week}/balance")
def show_balance(session: ReadSession, week: WeekPath) -> CurveFigures:
    """The latest curve: for each band the driving, the cost, and each technician's hours."""
    return balance.balance(session, week)


@router.get("/{week}/balance.csv", response_class=Response)
def export_balance(session: ReadSession, week: WeekPath) -> Response:
    """One line for each band."""
    table = balance.curve_list(balance.balance(session, week))
    return csv_answer(f"balance-{week}", table)


@router.get("/{week}/balance-hours.csv", response_class=Response)
def export_balance_hours(session: ReadSession, week: WeekPath) -> Response:
    """One line for each band and technician, beside the fair share."""
    table = balance.share_list(balance.balance(session, week))
    return csv_answer(f"balance-hours-{week}", table)
