"""The owner's what if and when to hire."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import JobsDep, ReadSession, SettingsDep, UnitsDep
from api.pages.curves import Curves, Point, Series, curves_of
from api.pages.templating import render
from dispatch.actions import book, level_upkeep, what_if
from dispatch.errors import NotFound
from dispatch.rhythms import Rhythm
from dispatch.standing.hiring import MonthLoad
from dispatch.words import _

router = APIRouter()


@router.get("/what-if")
def show_what_if(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    jobs: JobsDep,
    job: str | None = None,
    growth_percent: Annotated[float, Query(ge=-50, le=50)] = 0.0,
) -> HTMLResponse:
    """Forms to suppose something, the latest comparison, and the year's load by month."""
    latest = jobs.study_jobs(what_if.STUDY)
    try:
        found = what_if.compared(session)
    except NotFound:
        found = None
    try:
        months = what_if.hiring(session, settings, settings.today(), growth_percent)
    except NotFound:
        months = []
    sites = book.sites(session)
    return render(
        request,
        "what_if.html",
        found=found,
        costs=what_if.COST_ROWS,
        table=None if found is None else what_if.compared_list(found),
        months=months,
        spread=level_upkeep.levelling(session),
        chart=_chart(months) if len(months) > 1 else None,
        growth_percent=growth_percent,
        technicians=book.technicians(session),
        sites=sites,
        rhythms=[Rhythm.EVERY_2_WEEKS, Rhythm.EVERY_4_WEEKS],
        job=next((one for one in latest if not one.state.is_over), None),
        ended=next((one for one in latest if one.id == job and one.state.is_over), None),
        currency=settings.currency,
    )


@router.post("/what-if")
def suppose_from_form(
    session: ReadSession,
    jobs: JobsDep,
    units: UnitsDep,
    kind: Annotated[str, Form()],
    technician_id: Annotated[str, Form()] = "",
    near_site: Annotated[str, Form()] = "",
    count: Annotated[int, Form(ge=1, le=500)] = 40,
    radius: Annotated[float, Form(ge=0.1, le=30)] = 1,
    service_min: Annotated[int, Form(ge=1, le=720)] = 30,
    rhythm: Annotated[str, Form()] = str(Rhythm.WEEKLY),
) -> RedirectResponse:
    """Begin to compare, then show the page again; `radius` is in the reader's unit of length."""
    wish = {
        "kind": kind,
        "technician_id": technician_id,
        "count": count,
        "radius_m": round(radius * units.way_m),
        "service_min": service_min,
        "rhythm": rhythm,
    }
    if kind == "bought":
        wish |= what_if.place_of(session, near_site)
    what_if.supposition_of(wish)
    job = jobs.study(what_if.STUDY, "", wish)
    return RedirectResponse(f"/what-if?job={job.id}", 303)


@router.post("/what-if/stop/{job_id}")
def stop_from_form(jobs: JobsDep, job_id: str) -> RedirectResponse:
    """Stop the comparison."""
    jobs.stop(job_id)
    return RedirectResponse(f"/what-if?job={job_id}", 303)


def _chart(months: list[MonthLoad]) -> Curves | None:
    """Work and capacity by month."""
    work = tuple(
        Point(
            n,
            one.work_h,
            _("{month}: {work_h:.0f} h of work a week").format(month=one.month, work_h=one.work_h),
        )
        for n, one in enumerate(months)
    )
    most = tuple(
        Point(
            n,
            one.most_h,
            _("{month}: {most_h:.0f} h can be held a week").format(
                month=one.month, most_h=one.most_h
            ),
        )
        for n, one in enumerate(months)
    )
    return curves_of(
        _("months from {month}").format(month=months[0].month),
        _("hours a week"),
        (Series(_("Work"), "first", work), Series(_("What the shifts can hold"), "second", most)),
        _("Hours of work and of capacity a week from {month} to {last_month}.").format(
            month=months[0].month, last_month=months[-1].month
        ),
    )
