"""Records: taken in once each, listed, corrected; what was set aside."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Body, Query
from fastapi.responses import JSONResponse, Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.errors import PROBLEM_JSON, STATUS, TITLES
from api.schemas.named import NamedDay
from api.schemas.records import (
    RECORD_EXAMPLE,
    AcceptIn,
    AsideOut,
    CorrectionIn,
    DismissIn,
    FileTakenInOut,
    RecordOut,
    TakenInOut,
    VersionOut,
)
from dispatch.actions import record_files, records
from dispatch.actions.take_in import Outcome, TakenIn, take_in_record, take_in_records
from dispatch.errors import InvalidValue
from dispatch.store.records import KeptRecord
from dispatch.words import _

router = APIRouter(tags=["records"])

MOST_AT_ONCE = 500  # records of one call; a technician's week has about 60
Content = Annotated[Any, Body(examples=[RECORD_EXAMPLE])]
First = Annotated[NamedDay | None, Query(alias="from", description="first day")]
Last = Annotated[NamedDay | None, Query(alias="to", description="last day")]


@router.post("/records", response_model=TakenInOut, status_code=201)
def take_in(session: WriteSession, settings: SettingsDep, content: Content) -> Response:
    """Take in a record; sent again it counts once.

    201: it was kept. 200: the same record had been kept before. 409: a record of its id says
    something else. 422: it cannot be what happened. In the last two cases it is set aside word
    for word under the `aside` of the answer, so that nothing is lost.
    """
    return _answer(take_in_record(session, settings, content))


@router.post("/records/batch")
def take_in_batch(
    session: WriteSession, settings: SettingsDep, contents: Annotated[list[Any], Body()]
) -> list[TakenInOut]:
    """Take in several records, each by itself; the answer says what became of each, in order."""
    if len(contents) > MOST_AT_ONCE:
        raise InvalidValue(
            _("{number} records at once are too many: send {MOST_AT_ONCE} at most.").format(
                number=len(contents), MOST_AT_ONCE=MOST_AT_ONCE
            )
        )
    return [TakenInOut.of(one) for one in take_in_records(session, settings, contents)]


@router.post("/records/import")
def import_records(
    session: WriteSession, settings: SettingsDep, text: UploadedText
) -> FileTakenInOut:
    """Take in a CSV table of records, all or nothing; known records count once."""
    found = record_files.import_record_table(session, settings, text)
    return FileTakenInOut(kept=found.kept, known=found.known, aside=[])


@router.get("/records")
def list_records(
    session: ReadSession,
    settings: SettingsDep,
    site: str | None = None,
    technician: str | None = None,
    first: First = None,
    last: Last = None,
) -> list[RecordOut]:
    """Records by day and arrival; all of them unless a site, a technician or days are named."""
    found = _between(session, settings, site, technician, first, last)
    return [RecordOut.of(one) for one in found]


@router.get("/records.csv", response_class=Response)
def export_records(
    session: ReadSession,
    settings: SettingsDep,
    site: str | None = None,
    technician: str | None = None,
    first: First = None,
    last: Last = None,
) -> Response:
    """Records in the columns that the import reads."""
    found = _between(session, settings, site, technician, first, last)
    return csv_answer("records", record_files.record_list(found, settings.zone))


@router.get("/records.jsonl", response_class=Response)
def export_lines(
    session: ReadSession,
    settings: SettingsDep,
    site: str | None = None,
    technician: str | None = None,
    first: First = None,
    last: Last = None,
) -> Response:
    """Records as JSON lines, whole, which can be taken in again."""
    found = _between(session, settings, site, technician, first, last)
    return Response(record_files.record_lines(found), media_type="application/x-ndjson")


@router.get("/records/{record_id}")
def show_record(session: ReadSession, settings: SettingsDep, record_id: str) -> RecordOut:
    """One record as it stands."""
    return RecordOut.of(records.one_record(session, settings, record_id))


@router.get("/records/{record_id}/versions")
def show_versions(session: ReadSession, settings: SettingsDep, record_id: str) -> list[VersionOut]:
    """Every version of a record: who changed it, when and why."""
    found = records.record_versions(session, settings, record_id)
    return [VersionOut.of(one) for one in found]


@router.patch("/records/{record_id}")
def correct(
    session: WriteSession, settings: SettingsDep, record_id: str, correction: CorrectionIn
) -> RecordOut:
    """Correct a record; what it said before stays among its versions."""
    after = records.correct_record(
        session,
        settings,
        record_id,
        correction.fields,
        by=correction.by,
        reason=correction.reason,
    )
    return RecordOut.of(after)


@router.get("/records-aside")
def list_asides(session: ReadSession) -> list[AsideOut]:
    """What could not be kept and waits for somebody, newest first."""
    return [AsideOut.of(one) for one in records.open_asides(session)]


@router.get("/records-aside.csv", response_class=Response)
def export_asides(session: ReadSession, settings: SettingsDep) -> Response:
    """What waits for somebody, without its content."""
    asides = records.open_asides(session)
    return csv_answer("records-aside", record_files.aside_list(asides, settings.zone))


@router.post("/records-aside/{aside}/accept")
def accept(
    session: WriteSession, settings: SettingsDep, aside: str, wanted: AcceptIn
) -> TakenInOut:
    """Take in what was set aside, with some fields changed."""
    taken = records.accept_aside(session, settings, aside, wanted.fields, by=wanted.by)
    return TakenInOut.of(taken)


@router.post("/records-aside/{aside}/dismiss", status_code=204)
def dismiss(session: WriteSession, settings: SettingsDep, aside: str, wanted: DismissIn) -> None:
    """Say that what was set aside is not wanted; it stays readable."""
    records.dismiss_aside(session, settings, aside, by=wanted.by, why=wanted.why)


def _between(
    session: ReadSession,
    settings: SettingsDep,
    site: str | None,
    technician: str | None,
    first: date | None,
    last: date | None,
) -> list[KeptRecord]:
    return records.records_between(
        session,
        settings,
        site_id=site,
        technician_id=technician,
        first_day=first,
        last_day=last,
    )


def _answer(taken: TakenIn) -> Response:
    """The answer for one record; a problem document (RFC 9457) where it was set aside."""
    if taken.error is None:
        status = 201 if taken.outcome is Outcome.KEPT else 200
        return JSONResponse(TakenInOut.of(taken).model_dump(mode="json"), status)
    code = taken.error.code
    body = {
        "type": "about:blank",
        "title": _(TITLES[code]) if code in TITLES else _("The record was set aside"),
        "status": STATUS[code],
        "detail": _("{error} It is set aside, so nothing is lost.").format(error=taken.error),
        "code": code,
        "aside": taken.aside,
    }
    return JSONResponse(body, STATUS[code], media_type=PROBLEM_JSON)
