"""The list of technicians, with their import."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import PeopleHere, ReadSession, SettingsDep, WriteSession
from api.pages.marks import marks_of
from api.pages.templating import render
from dispatch.actions import book
from dispatch.actions.off_street import DEPOTS, off_street
from dispatch.clock import WEEKDAYS
from dispatch.intake.technician_rows import TECHNICIAN_COLUMNS

router = APIRouter()


@router.get("/technicians")
def show_technicians(
    request: Request, session: ReadSession, settings: SettingsDep, imported: int | None = None
) -> HTMLResponse:
    """All technicians."""
    return render(
        request,
        "technicians.html",
        marks=list(marks_of(book.technicians(session)).values()),
        weekdays=WEEKDAYS,
        off_street=off_street(session, settings, DEPOTS),
        today=settings.today(),
        imported=imported,
        columns=TECHNICIAN_COLUMNS,
    )


@router.post("/technicians/delete")
def delete_technician(
    session: WriteSession, people: PeopleHere, technician_id: Annotated[str, Form(alias="id")]
) -> RedirectResponse:
    """Delete a technician and show the list."""
    book.delete_technician(session, technician_id, people)
    return RedirectResponse("/technicians", 303)
