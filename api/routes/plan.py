"""The plan of a week: start planning, read the plan, its lines on the map, its tables."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import JSONResponse, Response

from api.csvs import csv_answer
from api.deps import JobsDep, ReadSession, SettingsDep, WeekPath
from api.schemas.job import PlanIn, PlanJobOut
from api.schemas.plan import WeekPlanOut
from dispatch.actions import read_plan
from dispatch.actions.route_lines import route_lines
from dispatch.actions.week_lists import change_list, put_off_list, stop_list, unplaced_list

router = APIRouter(prefix="/weeks", tags=["plan"])


@router.get("")
def list_planned_weeks(session: ReadSession) -> list[str]:
    """The weeks that have a plan, earliest first."""
    return [str(week) for week in read_plan.planned_weeks(session)]


@router.post("/{week}/plan", status_code=202)
def start_planning(week: WeekPath, wish: PlanIn, jobs: JobsDep, response: Response) -> PlanJobOut:
    """Begin planning the week in the background; `Location` is where to watch it."""
    job = jobs.plan_week(week, seed=wish.seed, iterations=wish.iterations, even_min=wish.even_min)
    response.headers["Location"] = f"/api/jobs/{job.id}"
    return PlanJobOut.of(job)


@router.get("/{week}/plan")
def show_plan(session: ReadSession, week: WeekPath) -> WeekPlanOut:
    """The plan of the week."""
    return WeekPlanOut.of(read_plan.week_plan(session, week))


@router.get("/{week}/routes.geojson", response_class=JSONResponse)
def show_route_lines(session: ReadSession, settings: SettingsDep, week: WeekPath) -> Response:
    """Every leg of every route along its streets, as GeoJSON (RFC 7946)."""
    return JSONResponse(route_lines(session, settings, week), media_type="application/geo+json")


@router.get("/{week}/stops.csv", response_class=Response)
def export_stops(session: ReadSession, week: WeekPath) -> Response:
    """One line for each stop, in the order of the routes."""
    return csv_answer(f"stops-{week}", stop_list(read_plan.week_plan(session, week)))


@router.get("/{week}/unplaced.csv", response_class=Response)
def export_unplaced(session: ReadSession, week: WeekPath) -> Response:
    """One line for each visit that is due and in no route, with the reason."""
    return csv_answer(f"unplaced-{week}", unplaced_list(read_plan.week_plan(session, week)))


@router.get("/{week}/put-off.csv", response_class=Response)
def export_put_off(session: ReadSession, week: WeekPath) -> Response:
    """One line for each upkeep moved to a later week, with the day by which it must happen."""
    return csv_answer(f"put-off-{week}", put_off_list(read_plan.week_plan(session, week)))


@router.get("/{week}/changes.csv", response_class=Response)
def export_changes(session: ReadSession, week: WeekPath) -> Response:
    """One line for each visit that leaves its usual technician or weekday."""
    return csv_answer(f"changes-{week}", change_list(read_plan.week_plan(session, week)))
