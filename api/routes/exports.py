"""Export of everything: one workbook, GeoJSON, one zip file."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import JSONResponse, Response

from api.deps import ReadSession, SettingsDep
from api.downloads import disposition
from dispatch.actions import export_all
from dispatch.clock import IsoWeek
from dispatch.feeds.week_files import week_files

router = APIRouter(tags=["export"])

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@router.get("/sites.geojson", response_class=JSONResponse)
def export_sites_geojson(session: ReadSession) -> Response:
    """All sites as points (RFC 7946), without gate codes."""
    return JSONResponse(export_all.sites_geojson(session), media_type="application/geo+json")


@router.get("/export.xlsx", response_class=Response)
def export_workbook(
    session: ReadSession, settings: SettingsDep, week: str | None = None
) -> Response:
    """Every list as one workbook; with a week, that of its plan too."""
    parsed = IsoWeek.parse(week) if week else None
    tables = export_all.all_lists(session, settings, parsed)
    return _file(export_all.as_xlsx(tables), XLSX, "export.xlsx")


@router.get("/export.zip", response_class=Response)
def export_everything(
    session: ReadSession, settings: SettingsDep, week: str | None = None
) -> Response:
    """All lists as CSV and XLSX, sites and routes as GeoJSON, GPX and calendars, in one file."""
    parsed = IsoWeek.parse(week) if week else None
    papers = week_files(session, settings, parsed) if parsed else {}
    content = export_all.everything_zip(session, settings, parsed, papers)
    return _file(content, "application/zip", "export.zip")


def _file(content: bytes, media_type: str, name: str) -> Response:
    headers = {"Content-Disposition": disposition(name)}
    return Response(content, media_type=media_type, headers=headers)
