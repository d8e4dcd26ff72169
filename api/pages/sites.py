"""The list of sites and holds, with their imports."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.pages.templating import render
from dispatch.actions import book
from dispatch.actions.off_street import SITES, off_street
from dispatch.intake.hold_rows import HOLD_COLUMNS
from dispatch.intake.site_columns import SITE_COLUMNS

router = APIRouter()


@router.get("/sites")
def show_sites(
    request: Request, session: ReadSession, settings: SettingsDep, imported: int | None = None
) -> HTMLResponse:
    """All sites and holds."""
    sites = book.sites(session)
    return render(
        request,
        "sites.html",
        sites=sites,
        names={site.id: site.name for site in sites},
        technicians={one.id: one.name for one in book.technicians(session)},
        holds=book.holds(session),
        off_street=off_street(session, settings, SITES),
        today=settings.today(),
        imported=imported,
        site_columns=SITE_COLUMNS,
        hold_columns=HOLD_COLUMNS,
    )


@router.post("/sites/import")
def import_sites(
    session: WriteSession, settings: SettingsDep, text: UploadedText
) -> RedirectResponse:
    """Take in a table of sites, all or nothing, and show the list."""
    return RedirectResponse(f"/sites?imported={book.import_sites(session, settings, text)}", 303)


@router.post("/holds/import")
def import_holds(
    session: WriteSession, settings: SettingsDep, text: UploadedText
) -> RedirectResponse:
    """Take in a table of holds, all or nothing, and show the list."""
    return RedirectResponse(f"/sites?imported={book.import_holds(session, settings, text)}", 303)
