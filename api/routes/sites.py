"""Sites: list, one, import and export."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import PersonDep, ReadSession, SettingsDep, UploadedText, WriteSession
from api.schemas.book import GateCodeOut, ImportOut, SiteOut
from dispatch.actions import book, gate_codes
from dispatch.actions.lists import site_list
from dispatch.actions.off_street import SITES, off_street
from dispatch.actions.twins import twins_told
from dispatch.errors import NotFound
from dispatch.people import Role
from dispatch.words import _

router = APIRouter(tags=["sites"])


@router.get("/sites")
def list_sites(session: ReadSession) -> list[SiteOut]:
    """All sites, ordered by id."""
    return [SiteOut.of(site) for site in book.sites(session)]


@router.get("/sites.csv", response_class=Response)
def export_sites(session: ReadSession) -> Response:
    """All sites in the columns that the import reads, without gate codes."""
    return csv_answer("sites", site_list(book.sites(session)))


@router.get("/sites/{site_id}")
def show_site(site_id: str, session: ReadSession, person: PersonDep) -> SiteOut:
    """One site; what it pays is for the office alone, and null for a technician."""
    for site in book.sites(session):
        if site.id == site_id:
            shown = SiteOut.of(site)
            is_office = person.role is not Role.TECHNICIAN
            return shown if is_office else shown.model_copy(update={"monthly_price": None})
    raise NotFound(
        _("There is no site '{site_id}'. The list of sites shows the ids.").format(site_id=site_id)
    )


@router.post("/sites/{site_id}/gate-code")
def reveal_gate_code(session: WriteSession, settings: SettingsDep, site_id: str) -> GateCodeOut:
    """Show one gate code to the office; who asked for it stands in the audit log."""
    return GateCodeOut(gate_code=gate_codes.reveal(session, settings, site_id))


@router.post("/sites/import")
def import_sites(session: WriteSession, settings: SettingsDep, text: UploadedText) -> ImportOut:
    """Take in a CSV table, all or nothing; a site whose id is known is replaced.

    `warnings` names each site of the book where no truck can drive, and each that has name and
    address of another one.
    """
    imported = book.import_sites(session, settings, text)
    far = off_street(session, settings, SITES)
    twins = twins_told(book.sites(session))
    return ImportOut(imported=imported, warnings=[*far.values(), *twins])


@router.delete("/sites/{site_id}", status_code=204)
def delete_site(site_id: str, session: WriteSession) -> None:
    """Take a site out of the book; refused (409) while plans or records need it."""
    book.delete_site(session, site_id)
