"""Technicians: list, import and export."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import PeopleHere, ReadSession, SettingsDep, UploadedText, WriteSession
from api.schemas.book import ImportOut, TechnicianOut
from dispatch.actions import book
from dispatch.actions.lists import technician_list
from dispatch.actions.off_street import DEPOTS, off_street

router = APIRouter(tags=["technicians"])


@router.get("/technicians")
def list_technicians(session: ReadSession) -> list[TechnicianOut]:
    """All technicians, ordered by id."""
    return [TechnicianOut.of(technician) for technician in book.technicians(session)]


@router.get("/technicians.csv", response_class=Response)
def export_technicians(session: ReadSession) -> Response:
    """All technicians in the columns that the import reads."""
    return csv_answer("technicians", technician_list(book.technicians(session)))


@router.post("/technicians/import")
def import_technicians(
    session: WriteSession, settings: SettingsDep, text: UploadedText
) -> ImportOut:
    """Take in a CSV table, all or nothing; a technician whose id is known is replaced.

    `warnings` names each start and end of a day where no truck can drive.
    """
    imported = book.import_technicians(session, settings, text)
    warnings = off_street(session, settings, DEPOTS)
    return ImportOut(imported=imported, warnings=list(warnings.values()))


@router.delete("/technicians/{technician_id}", status_code=204)
def delete_technician(technician_id: str, session: WriteSession, people: PeopleHere) -> None:
    """Take a technician out of the book.

    Refused (409) while plans or records need it, or somebody signs in as this technician.
    """
    book.delete_technician(session, technician_id, people)
