"""The list of sites and holds, with their imports and forms."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.pages.templating import render
from api.schemas.named import NamedDay
from dispatch.actions import book, gate_codes, holds
from dispatch.actions.off_street import SITES, off_street
from dispatch.actions.twins import twins_told
from dispatch.actions.versions import Thing, version, versions
from dispatch.intake.hold_rows import HOLD_COLUMNS
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.sites import Hold

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
        versions=versions(session, Thing.HOLD),
        list_version=version(session, Thing.HOLDS, {}),
        off_street=off_street(session, settings, SITES),
        twins=twins_told(sites),
        today=settings.today(),
        imported=imported,
        site_columns=SITE_COLUMNS,
        hold_columns=HOLD_COLUMNS,
    )


@router.post("/holds/import")
def import_holds(
    session: WriteSession, settings: SettingsDep, text: UploadedText
) -> RedirectResponse:
    """Take in a table of holds, all or nothing, and show the list."""
    return RedirectResponse(f"/sites?imported={book.import_holds(session, settings, text)}", 303)


@router.post("/holds")
def add_hold(
    session: WriteSession,
    site_id: Annotated[str, Form()],
    first_day: Annotated[NamedDay, Form()],
    last_day: Annotated[NamedDay, Form()],
    reason: Annotated[str, Form()] = "",
) -> RedirectResponse:
    """Add a hold and show the list."""
    holds.add_hold(session, Hold(site_id, first_day, last_day, reason))
    return RedirectResponse("/sites", 303)


@router.post("/holds/{site_id}/{first_day}/end")
def end_hold(
    session: WriteSession, site_id: str, first_day: date, last_day: Annotated[NamedDay, Form()]
) -> RedirectResponse:
    """End a hold on another day and show the list."""
    holds.end_hold(session, site_id, first_day, last_day)
    return RedirectResponse("/sites", 303)


@router.post("/holds/{site_id}/{first_day}/delete")
def delete_hold(session: WriteSession, site_id: str, first_day: date) -> RedirectResponse:
    """Delete a hold and show the list."""
    holds.delete_hold(session, site_id, first_day)
    return RedirectResponse("/sites", 303)


@router.post("/sites/{site_id}/gate-code")
def reveal_gate_code(
    request: Request, session: WriteSession, settings: SettingsDep, site_id: str
) -> HTMLResponse:
    """Show one gate code to the office; who asked for it stands in the audit log."""
    code = gate_codes.reveal(session, settings, site_id)
    answer = render(request, "gate_code.html", site_id=site_id, code=code)
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.post("/sites/delete")
def delete_site(
    session: WriteSession, site_id: Annotated[str, Form(alias="id")]
) -> RedirectResponse:
    """Delete a site and show the list."""
    book.delete_site(session, site_id)
    return RedirectResponse("/sites", 303)
