"""Records by hand: the form, corrections, follow-ups, and what was set aside."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from sqlmodel import Session
from starlette.datastructures import FormData, UploadFile

from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.pages.record_form import (
    changed_fields,
    content_of_form,
    reading_fields,
    seen_choices,
    values_of_form,
    values_of_record,
)
from api.pages.templating import render
from api.pages.units import units_of
from dispatch.actions import book, record_files, records
from dispatch.actions.record_photos import arrived_photos
from dispatch.actions.take_in import judge, take_in_record
from dispatch.actions.versions import Thing, version
from dispatch.actions.water import one_site
from dispatch.actions.working_day import shift_of
from dispatch.clock import parse_day
from dispatch.errors import DispatchError, InvalidValue
from dispatch.records.rows import RECORD_COLUMNS
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.records import KeptRecord
from dispatch.store.upkeep_kinds import read_rules
from dispatch.technicians import Shift
from dispatch.words import _

router = APIRouter()

NEWEST = 40  # records on the page; the list as CSV has all


async def sent_form(request: Request) -> FormData:
    """The form of a call, files and repeated names included."""
    return await request.form()


SentForm = Annotated[FormData, Depends(sent_form)]


@router.get("/records")
def show_records(
    request: Request, session: ReadSession, settings: SettingsDep, done: str | None = None
) -> HTMLResponse:
    """Follow-ups, what was set aside, and the newest records."""
    newest = records.records_between(session, settings, newest=NEWEST)
    return render(
        request,
        "records.html",
        follow_ups=records.open_follow_ups(session),
        asides=records.open_asides(session),
        newest=newest[::-1],
        count=records.record_count(session),
        sites={site.id: site for site in book.sites(session)},
        technicians={one.id: one.name for one in book.technicians(session)},
        columns=RECORD_COLUMNS,
        today=settings.today(),
        zone=settings.zone,
        done=done,
    )


@router.post("/records/import")
def import_records(
    session: WriteSession, settings: SettingsDep, text: UploadedText
) -> RedirectResponse:
    """Take in a table of records, all or nothing, and show the list."""
    found = record_files.import_record_table(session, settings, text)
    return RedirectResponse(f"/records?done={found.kept}+records+taken+in", 303)


@router.post("/follow-ups/{follow_up_id}/settle")
def settle(
    session: WriteSession,
    settings: SettingsDep,
    follow_up_id: str,
    by: Annotated[str, Form()],
    outcome: Annotated[str, Form()],
) -> RedirectResponse:
    """Close a follow-up and show the list."""
    records.settle(session, settings, follow_up_id, by=by, outcome=outcome)
    return RedirectResponse("/records?done=Follow-up+settled", 303)


@router.post("/records-aside/{aside}/accept")
def accept(
    session: WriteSession, settings: SettingsDep, aside: str, by: Annotated[str, Form()]
) -> RedirectResponse:
    """Take in what was set aside and show its record."""
    taken = records.accept_aside(session, settings, aside, {}, by=by)
    return RedirectResponse(f"/records/{taken.record_id}", 303)


@router.post("/records-aside/{aside}/dismiss")
def dismiss(
    session: WriteSession,
    settings: SettingsDep,
    aside: str,
    by: Annotated[str, Form()],
    why: Annotated[str, Form()],
) -> RedirectResponse:
    """Say that what was set aside is not wanted, and show the list."""
    records.dismiss_aside(session, settings, aside, by=by, why=why)
    return RedirectResponse("/records?done=Dismissed", 303)


@router.get("/sites/{site_id}/record")
def show_form(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    site_id: str,
    technician: str = "",
    day: str = "",
    visit: str = "",
) -> HTMLResponse:
    """The empty form of a record; its id is made here, so that sending it twice counts once."""
    site = one_site(session, site_id)
    values = {
        "id": str(uuid4()),
        "technician_id": technician or site.plan.usual_technician_id or "",
        "day": day or settings.today().isoformat(),
        "visit_id": visit,
    }
    return _form(request, session, settings, site, values)


@router.post("/sites/{site_id}/record")
def take_in(
    request: Request, session: WriteSession, settings: SettingsDep, site_id: str, form: SentForm
) -> Response:
    """Take in the form's record; a faulty one is shown again as it was entered."""
    site = one_site(session, site_id)
    photos: list[str] = []
    try:
        photos = _photos(session, settings, form)
        content = {**content_of_form(form, photos, _shift(session, form)), "site_id": site_id}
        (error,) = judge(session, settings, [content])
        if error is not None:
            raise error
    except DispatchError as error:
        values = values_of_form(form, photos)
        return _form(request, session, settings, site, values, words=str(error))
    taken = take_in_record(session, settings, content)
    return RedirectResponse(f"/sites/{site_id}?kept={taken.record_id}", 303)


@router.get("/records/{record_id}")
def show_record(
    request: Request, session: ReadSession, settings: SettingsDep, record_id: str
) -> HTMLResponse:
    """A record with all its versions, and the form to correct it."""
    kept = records.one_record(session, settings, record_id)
    site = one_site(session, kept.record.site_id)
    values = values_of_record(kept.record, settings, units_of(request))
    return _form(request, session, settings, site, values, record_id=record_id)


@router.post("/records/{record_id}")
def correct(
    request: Request, session: WriteSession, settings: SettingsDep, record_id: str, form: SentForm
) -> Response:
    """Correct a record; a faulty correction is shown again as it was entered."""
    kept = records.one_record(session, settings, record_id)
    site = one_site(session, kept.record.site_id)
    photos: list[str] = []
    try:
        photos = _photos(session, settings, form)
        content = content_of_form(form, photos, _shift(session, form))
        before = values_of_record(kept.record, settings, units_of(request))
        fields = changed_fields(kept.record, before, values_of_form(form), content)
        if photos or form.get("photos_before"):
            fields["photos"] = content["photos"]
        by, reason = str(form.get("by", "")), str(form.get("reason", ""))
        records.correct_record(session, settings, record_id, fields, by=by, reason=reason)
    except InvalidValue as error:
        values = values_of_form(form, photos)
        return _form(
            request, session, settings, site, values, words=str(error), record_id=record_id
        )
    return RedirectResponse(f"/sites/{site.id}?kept={record_id}", 303)


def _shift(session: Session, form: FormData) -> Shift | None:
    """The shift of the technician on the day of the form, where both are known."""
    try:
        day = parse_day(str(form.get("day", "")))
    except InvalidValue:
        return None
    return shift_of(session, str(form.get("technician_id", "")).strip(), day)


def _photos(session: Session, settings: Settings, form: FormData) -> list[str]:
    """Keep the photos of the form; returns their ids."""
    files = [one for one in form.getlist("photos") if isinstance(one, UploadFile) and one.filename]
    return [records.keep_photo(session, settings, one.file.read()).id for one in files]


def _shown_photos(session: Session, kept: KeptRecord) -> list[str]:
    """The photos of a record that have arrived, in its order."""
    arrived = arrived_photos(session, [kept])
    return [photo for photo in kept.record.photos if photo in arrived]


def _form(
    request: Request,
    session: Session,
    settings: Settings,
    site: Site,
    values: Mapping[str, str],
    *,
    words: str = "",
    record_id: str = "",
) -> HTMLResponse:
    """The form with what stands in it; `words` is what was wrong, `record_id` what is corrected."""
    versions = records.record_versions(session, settings, record_id) if record_id else []
    kept = records.one_record(session, settings, record_id) if record_id else None
    return render(
        request,
        "record.html",
        422 if words else 200,
        site=site,
        values=values,
        words=words,
        record_id=record_id,
        versions=versions,
        present=version(session, Thing.RECORD, {"record_id": record_id}) if record_id else "",
        flags=kept.flags if kept else (),
        photos=_shown_photos(session, kept) if kept else (),
        readings=reading_fields(values, units_of(request)),
        seen=seen_choices(),
        upkeep=[(rule.kind, _(rule.title)) for rule in read_rules(session)],
        technicians=book.technicians(session),
        today=settings.today(),
        zone=settings.zone,
    )
