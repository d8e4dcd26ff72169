"""What is due in a week: visits, upkeep, and who is not due and why."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from api.deps import ReadSession, SettingsDep, WeekPath
from api.pages.templating import render
from dispatch.actions import book, due
from dispatch.actions.day import moved_visits
from dispatch.actions.week_lists import by_urgency

router = APIRouter()


@router.get("/due/{week}")
def show_due(
    request: Request, session: ReadSession, settings: SettingsDep, week: WeekPath
) -> HTMLResponse:
    """Visits and upkeep due in the week."""
    sites = {site.id: site for site in book.sites(session)}
    return render(
        request,
        "due.html",
        week=week,
        visits=due.visits_due(session, settings, week, settings.today()),
        upkeep=by_urgency(due.upkeep_due(session, week)),
        unknown=due.upkeep_unknown(session),
        sites=sites,
        names={site_id: site.name for site_id, site in sites.items()},
        coming=moved_visits(session, week.days),
        closed=sorted(due.closed_days(settings, week)),
    )
