"""The dispatcher's week: map, routes, what found no place, and the planning form."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from sqlmodel import Session

from api.deps import JobsDep, PersonDep, ReadSession, SettingsDep, WeekPath
from api.pages.desk_view import desk_view
from api.pages.marks import marks_of
from api.pages.templating import render
from api.pages.week_view import WeekView, week_view
from dispatch.actions import book, due, preflight, read_plan
from dispatch.actions.maps import road_map
from dispatch.actions.open_work import all_work
from dispatch.actions.week_elsewhere import elsewhere_words
from dispatch.actions.week_inputs import is_outdated
from dispatch.actions.week_publish import published_week
from dispatch.clock import IsoWeek
from dispatch.errors import NoMap, NotFound
from dispatch.people import Role
from dispatch.planning.search import usual_iterations
from dispatch.settings import Settings
from dispatch.words import _

router = APIRouter()

QUICK_ROUNDS = 25  # a visit: a first look within a second
THOROUGH = 4  # times the usual rounds: about a minute for 400 sites


@router.get("/")
def first_page(session: ReadSession, settings: SettingsDep, person: PersonDep) -> RedirectResponse:
    """Lead to the next planned week that is not over; technicians to their page."""
    today = settings.today()
    if person.role is Role.TECHNICIAN:
        return RedirectResponse(f"/phone/{person.technician_id}", 307)
    ahead = [week for week in read_plan.planned_weeks(session) if week.sunday >= today]
    return RedirectResponse(f"/week/{ahead[0] if ahead else IsoWeek.of(today).next}", 307)


@router.get("/week/{week}")
def show_week(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    jobs: JobsDep,
    week: WeekPath,
    job: str | None = None,
    day: date | None = None,
) -> HTMLResponse:
    """The week as it is planned, or the way to plan it.

    How `job` ended is told to the one whose form started it, whose address names it; `day` is shown
    at first where it is one of the week.
    """
    of_week = [one for one in jobs.plan_jobs() if one.week == week]
    common: dict[str, Any] = {
        "week": week,
        "job": next((one for one in of_week if not one.state.is_over), None),
        "ended": next((one for one in of_week if one.id == job and one.state.is_over), None),
        "settings": settings,
        "findings": preflight.week_findings(session, settings, week, settings.today()),
    }
    view = _view(session, settings, week)
    if view is None:
        ready = _readiness(session, settings, week)
        efforts = _efforts(ready["visits"])
        return render(request, "week_unplanned.html", efforts=efforts, **common, **ready)
    technicians, today = book.technicians(session), settings.today()
    published = published_week(session, view.plan, today)
    return render(
        request,
        "week.html",
        **common,
        view=view,
        efforts=_efforts(view.stops + len(view.unplaced)),
        marks=list(marks_of(technicians).values()),
        shown_day=day if day in week.days else view.first_day(today),
        is_over=week.sunday < today,
        desk=desk_view(session, week),
        published=published,
        elsewhere=elsewhere_words(session, view.plan, published, today),
        **_map_state(session, settings, week),
    )


@router.post("/week/{week}/plan")
def plan_from_form(
    session: ReadSession,
    jobs: JobsDep,
    person: PersonDep,
    week: WeekPath,
    seed: Annotated[int, Form(ge=0, le=2**31 - 1)],
    iterations: Annotated[str, Form()] = "",
) -> RedirectResponse:
    """Begin planning as the form asks, then show the week again (works without scripts).

    A week that has a plan gets a proposal beside it.
    """
    wanted = int(iterations) if iterations.isdecimal() and int(iterations) > 0 else None
    is_planned = week in read_plan.planned_weeks(session)
    job = jobs.plan_week(
        week, seed=seed, iterations=wanted, is_proposal=is_planned, who=person.name
    )
    return RedirectResponse(f"/week/{week}?job={job.id}", 303)


@router.post("/week/{week}/stop/{job_id}")
def stop_from_form(jobs: JobsDep, week: WeekPath, job_id: str) -> RedirectResponse:
    """Stop the planning job and keep its best plan so far (works without scripts)."""
    jobs.stop(job_id)
    return RedirectResponse(f"/week/{week}?job={job_id}", 303)


def _efforts(visits: int) -> list[tuple[str, int]]:
    """Choices of effort in words, with their search rounds."""
    thorough = THOROUGH * usual_iterations(visits)
    return [(_("Quick look"), QUICK_ROUNDS * visits), (_("Thorough"), thorough)]


def _view(session: Session, settings: Settings, week: IsoWeek) -> WeekView | None:
    """The planned week, None where the week has no plan."""
    try:
        plan = read_plan.week_plan(session, week)
    except NotFound:
        return None
    sites = {site.id: site for site in book.sites(session)}
    marks = marks_of(book.technicians(session))
    works = {work.id: work for work in all_work(session, settled=True)}
    upkeep, closed = read_plan.plan_upkeep(session, week), due.closed_days(settings, week)
    return week_view(plan, sites, marks, upkeep, works, closed)


def _map_state(session: Session, settings: Settings, week: IsoWeek) -> dict[str, Any]:
    """Bounds of the map (None without one), and whether the plan is behind the book."""
    try:
        bounds = road_map(settings).summary.bounds
        return {"bounds": bounds, "outdated": is_outdated(session, settings, week)}
    except NoMap:
        return {"bounds": None, "outdated": True}


def _readiness(session: Session, settings: Settings, week: IsoWeek) -> dict[str, Any]:
    """What there is to plan with."""
    try:
        road_map(settings)
        has_map = True
    except NoMap:
        has_map = False
    visits = due.visits_due(session, settings, week, settings.today())
    return {
        "has_map": has_map,
        "sites": len(book.sites(session)),
        "technicians": len(book.technicians(session)),
        "visits": sum(one.count for one in visits.due),
        "upkeep": len(due.upkeep_due(session, week)),
        "is_over": week.sunday < settings.today(),
    }
