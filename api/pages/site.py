"""A site: its pool, equipment, water, history, minutes and records."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from api.deps import ReadSession, SettingsDep, UnitsDep
from api.pages.site_plots import site_plots, upkeep_line
from api.pages.site_register import register_of
from api.pages.templating import render
from dispatch.actions import book
from dispatch.actions.record_photos import arrived_photos
from dispatch.actions.site_view import site_view
from dispatch.actions.versions import Thing, version
from dispatch.contacts import NoticeWish

router = APIRouter()

SHOWN_RECORDS = 12  # the newest; all of them are a link away


@router.get("/sites/{site_id}")
def show_site(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    units: UnitsDep,
    site_id: str,
    kept: str | None = None,
) -> HTMLResponse:
    """Everything that is known of a site."""
    view = site_view(session, settings, site_id, customary=units.customary)
    today = settings.today()
    return render(
        request,
        "site.html",
        view=view,
        site=view.site,
        register=register_of(view.site.equipment, units, today),
        plots=site_plots(view, units, today, settings.zone),
        line=upkeep_line(view, today),
        technicians={one.id: one.name for one in book.technicians(session)},
        today=today,
        zone=settings.zone,
        arrived=arrived_photos(session, view.records[:SHOWN_RECORDS]),
        learnt_on=settings.use_learnt_minutes,
        shown=SHOWN_RECORDS,
        kept=kept,
        version=version(session, Thing.SITE, {"site_id": site_id}),
        wishes=tuple(NoticeWish),
    )
