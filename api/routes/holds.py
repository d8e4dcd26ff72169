"""Holds: list, add, end, delete, import and export."""

from __future__ import annotations

from datetime import date

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.schemas.agreement import HoldEndIn, HoldIn
from api.schemas.book import HoldOut, ImportOut
from dispatch.actions import book, holds
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


@router.post("/holds", status_code=201)
def add_hold(session: WriteSession, wish: HoldIn) -> HoldOut:
    """Add a hold; a site has at most one that begins on a given day."""
    return HoldOut.of(holds.add_hold(session, wish.value()))


@router.post("/holds/{site_id}/{first_day}/end")
def end_hold(site_id: str, first_day: date, wish: HoldEndIn, session: WriteSession) -> HoldOut:
    """End a hold on another day than was said, that day included."""
    return HoldOut.of(holds.end_hold(session, site_id, first_day, wish.last_day))


@router.delete("/holds/{site_id}/{first_day}", status_code=204)
def delete_hold(site_id: str, first_day: date, session: WriteSession) -> None:
    """Take a hold out of the book."""
    holds.delete_hold(session, site_id, first_day)
