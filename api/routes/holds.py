"""Holds: list, import and export."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.schemas.book import HoldOut, ImportOut
from dispatch.actions import book
from dispatch.actions.lists import hold_list

router = APIRouter(tags=["holds"])


@router.get("/holds")
def list_holds(session: ReadSession) -> list[HoldOut]:
    """All holds, ordered by site and first day."""
    return [HoldOut.of(hold) for hold in book.holds(session)]


@router.get("/holds.csv", response_class=Response)
def export_holds(session: ReadSession) -> Response:
    """All holds in the columns that the import reads."""
    return csv_answer("holds", hold_list(book.holds(session)))


@router.post("/holds/import")
def import_holds(session: WriteSession, settings: SettingsDep, text: UploadedText) -> ImportOut:
    """Take in a CSV table, all or nothing; a hold of the same site and first day is replaced."""
    return ImportOut(imported=book.import_holds(session, settings, text))
