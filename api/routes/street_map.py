"""The street map: its figures, its building, the picture under the routes, what lies off it."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from fastapi.responses import FileResponse, Response

from api.deps import JobsDep, ReadSession, SettingsDep, UploadedExtract
from api.map_facts import map_facts
from api.schemas.job import MapJobOut
from api.schemas.street_map import MapOut
from api.uploads import FIELD
from dispatch.actions.off_street import off_street
from dispatch.errors import NoMap
from dispatch.words import _

router = APIRouter(prefix="/map", tags=["map"])

# The upload is read piece by piece, so the framework cannot see its form.
UPLOAD_FORM: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "required": [FIELD],
                    "properties": {FIELD: {"type": "string", "format": "binary"}},
                }
            }
        },
    }
}


@router.get("")
def show_map(settings: SettingsDep) -> MapOut:
    """Size, bounds and credit of the street map in use."""
    return MapOut.of(map_facts(settings), settings.map_credit)


@router.post("", status_code=202, openapi_extra=UPLOAD_FORM)
def build_map(extract: UploadedExtract, jobs: JobsDep, response: Response) -> MapJobOut:
    """Build the map from an extract in the background; `Location` is where to watch it.

    An OpenStreetMap extract ends in .osm, .osm.gz, .osm.bz2 or .osm.pbf. The map in use stays
    until the new one is whole.
    """
    job = jobs.build_map(extract)
    response.headers["Location"] = f"/api/jobs/{job.id}"
    return MapJobOut.of(job)


@router.get("/off-street")
def list_off_street(session: ReadSession, settings: SettingsDep) -> dict[str, str]:
    """By place (`site:S1`, `start:T1`, `end:T1`) the sentence why no truck can drive there."""
    return off_street(session, settings)


@router.get("/basemap.pmtiles", response_class=FileResponse)
def basemap(settings: SettingsDep) -> Response:
    """The drawn streets as PMTiles, served in byte ranges (RFC 9110, section 14)."""
    file = settings.map_dir / "basemap.pmtiles"
    if not file.is_file():
        raise NoMap(_("There is no street map yet: build one."))
    return FileResponse(
        file, media_type="application/vnd.pmtiles", headers={"Cache-Control": "no-cache"}
    )
