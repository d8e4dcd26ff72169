"""One-off work: what is open, what is done, a form and an import."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.pages.templating import render
from api.schemas.named import NamedDay
from dispatch.actions import book, one_off_work
from dispatch.actions.versions import Thing, version, versions
from dispatch.intake.one_off_rows import ONE_OFF_COLUMNS, one_off_of
from dispatch.one_offs import ONE_OFF_KINDS, usual_span
from dispatch.service_plan import Priority, VisitKind

router = APIRouter()

Deed = Literal["visited", "done", "delete"]


@router.get("/one-offs")
def show_one_offs(
    request: Request, session: ReadSession, settings: SettingsDep, imported: int | None = None
) -> HTMLResponse:
    """All one-off work, open work first by its last day."""
    works = one_off_work.one_offs(session)
    open_works = sorted((w for w in works if w.is_open), key=lambda w: (w.last_day, w.id))
    today = settings.today()
    first, last = usual_span(VisitKind.FOLLOW_UP, today)
    return render(
        request,
        "one_offs.html",
        versions=versions(session, Thing.ONE_OFF),
        list_version=version(session, Thing.ONE_OFFS, {}),
        open_works=open_works,
        done_works=[work for work in works if not work.is_open],
        sites=book.sites(session),
        names={site.id: site.name for site in book.sites(session)},
        technicians={one.id: one.name for one in book.technicians(session)},
        kinds=ONE_OFF_KINDS,
        priorities=list(Priority),
        today=today,
        first=first,
        last=last,
        imported=imported,
        columns=ONE_OFF_COLUMNS,
    )


@router.post("/one-offs")
def add_from_form(
    session: WriteSession,
    site_id: Annotated[str, Form()],
    title: Annotated[str, Form()],
    kind: Annotated[str, Form()],
    first_day: Annotated[str, Form()],
    last_day: Annotated[str, Form()],
    minutes: Annotated[str, Form()],
    persons: Annotated[str, Form()] = "1",
    priority: Annotated[str, Form()] = "normal",
    technician_id: Annotated[str, Form()] = "",
    skills: Annotated[str, Form()] = "",
    windows: Annotated[str, Form()] = "",
    parts: Annotated[str, Form()] = "",
    note: Annotated[str, Form()] = "",
) -> RedirectResponse:
    """Add one piece of work and show the list (works without scripts)."""
    given = {
        "id": one_off_work.next_one_off_id(session),
        "site_id": site_id,
        "title": title,
        "kind": kind,
        "first_day": first_day,
        "last_day": last_day,
        "minutes": minutes,
        "skills": skills,
        "persons": persons,
        "windows": windows,
        "priority": priority,
        "parts": parts,
        "technician": technician_id,
        "note": note,
    }
    one_off_work.add_one_off(session, one_off_of(given))
    return _list()


@router.post("/one-offs/import")
def import_one_offs(
    session: WriteSession, settings: SettingsDep, text: UploadedText
) -> RedirectResponse:
    """Take in a table of one-off work, all or nothing, and show the list."""
    number = one_off_work.import_one_offs(session, settings, text)
    return RedirectResponse(f"/one-offs?imported={number}", 303)


@router.post("/one-offs/{work_id}/{deed}")
def change_from_form(
    session: WriteSession,
    settings: SettingsDep,
    work_id: str,
    deed: Deed,
    on: Annotated[NamedDay | None, Form()] = None,
) -> RedirectResponse:
    """Note a visit, finish or delete the work, and show the list."""
    day = on or settings.today()
    deeds: dict[str, Any] = {
        "visited": lambda: one_off_work.visit_one_off(session, work_id, day),
        "done": lambda: one_off_work.finish_one_off(session, work_id, day),
        "delete": lambda: one_off_work.delete_one_off(session, work_id),
    }
    deeds[deed]()
    return _list()


def _list() -> RedirectResponse:
    return RedirectResponse("/one-offs", 303)
