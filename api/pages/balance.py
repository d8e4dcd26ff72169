"""The owner's balance: what it costs to even the technicians' hours of a week."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import JobsDep, ReadSession, SettingsDep, WeekPath
from api.pages.curves import Curves, Point, Series, curves_of
from api.pages.templating import duration, render
from dispatch.actions import balance
from dispatch.actions.balance import CurveFigures, PointFigures
from dispatch.errors import NotFound
from dispatch.words import _

router = APIRouter()


@router.get("/balance/{week}")
def show_balance(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    jobs: JobsDep,
    week: WeekPath,
    job: str | None = None,
) -> HTMLResponse:
    """The curve of the week as a chart and as tables, or the way to reckon it."""
    of_week = jobs.study_jobs(balance.STUDY, str(week))
    try:
        curve = balance.balance(session, week)
    except NotFound:
        curve = None
    return render(
        request,
        "balance.html",
        week=week,
        curve=curve,
        chart=None if curve is None else chart_of(curve),
        job=next((one for one in of_week if not one.state.is_over), None),
        ended=next((one for one in of_week if one.id == job and one.state.is_over), None),
        bands=settings.even_bands_min,
        is_over=week.sunday < settings.today(),
    )


@router.post("/balance/{week}")
def reckon_from_form(jobs: JobsDep, week: WeekPath) -> RedirectResponse:
    """Begin to reckon the curve, then show the page again (works without scripts)."""
    job = jobs.study(balance.STUDY, str(week), {})
    return RedirectResponse(f"/balance/{week}?job={job.id}", 303)


@router.post("/balance/{week}/stop/{job_id}")
def stop_from_form(jobs: JobsDep, week: WeekPath, job_id: str) -> RedirectResponse:
    """Stop the reckoning and keep the points it has."""
    jobs.stop(job_id)
    return RedirectResponse(f"/balance/{week}?job={job_id}", 303)


@router.post("/balance/{week}/plan")
def plan_from_form(
    jobs: JobsDep, week: WeekPath, even_min: Annotated[int, Form(ge=0, le=2400)]
) -> RedirectResponse:
    """Plan the week with a band of the curve, and go to its page."""
    job = jobs.plan_week(week, seed=None, iterations=None, even_min=even_min)
    return RedirectResponse(f"/week/{week}?job={job.id}", 303)


def chart_of(curve: CurveFigures) -> Curves | None:
    """The curve as a chart: driving, and everything that has a price, over the unevenness."""
    return curves_of(
        _("minutes from the fair share, of the most uneven week"),
        _("hours a week"),
        (
            Series("Driving", "first", tuple(map(_driving, curve.points))),
            Series(
                _("Driving and all else that is priced"), "second", tuple(map(_cost, curve.points))
            ),
        ),
        _(
            "From the widest band to the narrowest the most uneven week comes from "
            "{farthest_s} to {farthest_then} of its fair share, and driving goes from {drive_s} "
            "to {drive_then}. The table below has the figures."
        ).format(
            farthest_s=duration(curve.points[0].farthest_s),
            farthest_then=duration(curve.points[-1].farthest_s),
            drive_s=duration(curve.points[0].drive_s),
            drive_then=duration(curve.points[-1].drive_s),
        ),
    )


def _driving(point: PointFigures) -> Point:
    words = _("{point}: {drive_s} of driving").format(
        point=_band(point), drive_s=duration(point.drive_s)
    )
    return Point(point.farthest_s / 60, point.drive_s / 3600, words)


def _cost(point: PointFigures) -> Point:
    words = _("{point}: costs as much as {cost_s} of driving").format(
        point=_band(point), cost_s=duration(point.cost_s)
    )
    return Point(point.farthest_s / 60, point.cost_s / 3600, words)


def _band(point: PointFigures) -> str:
    return (
        _("no band")
        if point.band_min is None
        else _("band of {band_min} min").format(band_min=point.band_min)
    )
