"""The street map: what it holds, its picture, and the building of a new one."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import JobsDep, ReadSession, SettingsDep, UploadedExtract
from api.map_facts import MapFacts, map_facts
from api.pages.templating import render
from api.uploads import ENDINGS
from dispatch.actions.off_street import off_street
from dispatch.errors import NoMap, UnreadableMap
from dispatch.settings import Settings

router = APIRouter()


@router.get("/map")
def show_map(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    jobs: JobsDep,
    job: str | None = None,
) -> HTMLResponse:
    """The map in use and the builds under way.

    How `job` ended is told to the one whose form started it, whose address names it.
    """
    facts, damage = _facts(settings)
    builds = jobs.map_jobs()
    return render(
        request,
        "map.html",
        facts=facts,
        damage=damage,
        off_street=off_street(session, settings),
        under_way=[one for one in reversed(builds) if not one.state.is_over],
        ended=next((one for one in builds if one.id == job and one.state.is_over), None),
        endings=ENDINGS,
        most_gb=settings.map_upload_limit_gb,
    )


@router.post("/map")
def build_from_form(jobs: JobsDep, extract: UploadedExtract) -> RedirectResponse:
    """Begin to build the map from the form's extract, then show the page again."""
    return RedirectResponse(f"/map?job={jobs.build_map(extract).id}", 303)


@router.post("/map/stop/{job_id}")
def stop_from_form(jobs: JobsDep, job_id: str) -> RedirectResponse:
    """Stop the building job; the map in use stays."""
    jobs.stop(job_id)
    return RedirectResponse(f"/map?job={job_id}", 303)


def _facts(settings: Settings) -> tuple[MapFacts | None, str]:
    """The facts of the map, or None, and what is wrong with a map that cannot be read."""
    try:
        return map_facts(settings), ""
    except NoMap:
        return None, ""
    except UnreadableMap as error:
        return None, str(error)
