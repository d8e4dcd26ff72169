"""The owner's standing routes: as they are, better ones, and dated changes."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import JobsDep, PersonDep, ReadSession, SettingsDep, WriteSession
from api.pages.curves import Curves, Point, Series, curves_of
from api.pages.templating import duration, render
from api.routes.standing import StudyName
from dispatch.actions import book, standing, standing_changes, standing_days
from dispatch.actions.standing import MovesFigures
from dispatch.clock import WEEKDAY_NAMES, IsoWeek, parse_day
from dispatch.errors import NotFound
from dispatch.words import _

router = APIRouter()

AHEAD = timedelta(days=14)  # customers should hear of a change a while before (common practice)


@router.get("/standing")
def show_standing(request: Request, session: ReadSession, settings: SettingsDep) -> HTMLResponse:
    """Each technician's weekdays, and the dated changes."""
    return render(
        request,
        "standing.html",
        days=standing_days.standing_days(session, IsoWeek.of(settings.today())),
        weekdays=WEEKDAY_NAMES,
        changes=list(reversed(standing_changes.all_changes(session))),
        sites=standing_changes.site_names(session),
        technicians={one.id: one.name for one in book.technicians(session)},
        today=settings.today(),
    )


@router.get("/standing/study/{name}")
def show_study(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    jobs: JobsDep,
    name: StudyName,
    job: str | None = None,
) -> HTMLResponse:
    """The latest study: the curve over the moves, the ranked list, and how far to go."""
    of_name = jobs.study_jobs(name)
    try:
        found = standing.study(session, name)
    except NotFound:
        found = None
    return render(
        request,
        "standing_study.html",
        name=str(name),
        found=found,
        chart=None if found is None or name == standing.DESIGN else chart_of(found),
        job=next((one for one in of_name if not one.state.is_over), None),
        ended=next((one for one in of_name if one.id == job and one.state.is_over), None),
        from_on=IsoWeek.of(settings.today() + AHEAD).next.monday,
    )


@router.post("/standing/study/{name}")
def reckon_from_form(
    jobs: JobsDep, name: StudyName, most: Annotated[int, Form(ge=1, le=200)] = 20
) -> RedirectResponse:
    """Begin a study, then show the page again (works without scripts)."""
    job = jobs.study(name, "", {"most": most})
    return RedirectResponse(f"/standing/study/{name}?job={job.id}", 303)


@router.post("/standing/study/{name}/stop/{job_id}")
def stop_from_form(jobs: JobsDep, name: StudyName, job_id: str) -> RedirectResponse:
    """Stop the study and keep the moves it has."""
    jobs.stop(job_id)
    return RedirectResponse(f"/standing/study/{name}?job={job_id}", 303)


@router.post("/standing/study/{name}/decide")
def decide_from_form(
    session: WriteSession,
    settings: SettingsDep,
    person: PersonDep,
    name: StudyName,
    from_on: Annotated[str, Form()],
    count: Annotated[int | None, Form(ge=1)] = None,
) -> RedirectResponse:
    """Make the first moves, of a design all, a dated change, and show it."""
    standing.decide_on(
        session,
        name,
        count,
        from_on=parse_day(from_on),
        who=person.name,
        today=settings.today(),
    )
    return RedirectResponse("/standing", 303)


@router.post("/standing/changes/{change_id}/withdraw")
def withdraw_from_form(
    session: WriteSession, settings: SettingsDep, person: PersonDep, change_id: str
) -> RedirectResponse:
    """Take back a change, or all that were decided together."""
    standing_changes.withdraw(session, change_id, who=person.name, today=settings.today())
    return RedirectResponse("/standing", 303)


def chart_of(found: MovesFigures) -> Curves | None:
    """Driving and spread over the number of customers moved."""
    stands = [found.before, *(move.after for move in found.moves)]
    spread = tuple(
        Point(
            n,
            one.spread_s / 3600,
            _("{n} moved: spread {spread_s}").format(n=n, spread_s=duration(one.spread_s)),
        )
        for n, one in enumerate(stands)
    )
    driving = tuple(
        Point(
            n,
            one.drive_s / 3600,
            _("{n} moved: {drive_s} of driving a week").format(n=n, drive_s=duration(one.drive_s)),
        )
        for n, one in enumerate(stands)
    )
    return curves_of(
        _("customers moved"),
        _("hours a week"),
        (
            Series("Driving", "first", driving),
            Series(_("Spread between technicians"), "second", spread),
        ),
        _(
            "With {number} customers moved the spread goes from {spread_s} to {spread_then}, and "
            "the week's driving from {drive_s} to {drive_then}. The table below has the figures."
        ).format(
            number=len(found.moves),
            spread_s=duration(stands[0].spread_s),
            spread_then=duration(stands[-1].spread_s),
            drive_s=duration(stands[0].drive_s),
            drive_then=duration(stands[-1].drive_s),
        ),
    )
