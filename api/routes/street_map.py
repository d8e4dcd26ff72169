"""The street map: its figures, and the picture under the routes."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import FileResponse, Response

from api.deps import SettingsDep
from api.schemas.street_map import MapOut
from dispatch.actions.maps import road_map
from dispatch.errors import NoMap

router = APIRouter(prefix="/map", tags=["map"])


@router.get("")
def show_map(settings: SettingsDep) -> MapOut:
    """Size, bounds and credit of the street map in use."""
    return MapOut.of(road_map(settings).summary, settings.map_credit)


@router.get("/basemap.pmtiles", response_class=FileResponse)
def basemap(settings: SettingsDep) -> Response:
    """The drawn streets as PMTiles, served in byte ranges (RFC 9110, section 14)."""
    file = settings.map_dir / "basemap.pmtiles"
    if not file.is_file():
        raise NoMap("There is no street map yet: build one with 'dispatch map build FILE'.")
    return FileResponse(
        file, media_type="application/vnd.pmtiles", headers={"Cache-Control": "no-cache"}
    )
