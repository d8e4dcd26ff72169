"""One-off work: list, one, add, import and export, visited, done, delete."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import ReadSession, SettingsDep, UploadedText, WriteSession
from api.schemas.agreement import OnDayIn, OneOffIn, OneOffOut
from api.schemas.book import ImportOut
from dispatch.actions import one_off_work
from dispatch.actions.lists import one_off_list

router = APIRouter(tags=["one-off work"])


@router.get("/one-offs")
def list_one_offs(session: ReadSession) -> list[OneOffOut]:
    """All one-off work, finished or not, ordered by id."""
    return [OneOffOut.of(work) for work in one_off_work.one_offs(session)]


@router.get("/one-offs.csv", response_class=Response)
def export_one_offs(session: ReadSession) -> Response:
    """All one-off work in the columns that the import reads."""
    return csv_answer("one-offs", one_off_list(one_off_work.one_offs(session)))


@router.post("/one-offs", status_code=201)
def add_one_off(session: WriteSession, settings: SettingsDep, wish: OneOffIn) -> OneOffOut:
    """Add one piece of work."""
    work = wish.value(one_off_work.next_one_off_id(session), settings.today())
    return OneOffOut.of(one_off_work.add_one_off(session, work))


@router.post("/one-offs/import")
def import_one_offs(session: WriteSession, settings: SettingsDep, text: UploadedText) -> ImportOut:
    """Take in a CSV table, all or nothing; work whose id is known is replaced."""
    return ImportOut(imported=one_off_work.import_one_offs(session, settings, text))


@router.get("/one-offs/{work_id}")
def show_one_off(work_id: str, session: ReadSession) -> OneOffOut:
    """One piece of work."""
    return OneOffOut.of(one_off_work.one_off(session, work_id))


@router.post("/one-offs/{work_id}/visited")
def visit_one_off(
    work_id: str, wish: OnDayIn, session: WriteSession, settings: SettingsDep
) -> OneOffOut:
    """Note that a visit of the work took place; the last one finishes it."""
    day = wish.on or settings.today()
    return OneOffOut.of(one_off_work.visit_one_off(session, work_id, day))


@router.post("/one-offs/{work_id}/done")
def finish_one_off(
    work_id: str, wish: OnDayIn, session: WriteSession, settings: SettingsDep
) -> OneOffOut:
    """Note that the work was finished, or given up."""
    day = wish.on or settings.today()
    return OneOffOut.of(one_off_work.finish_one_off(session, work_id, day))


@router.delete("/one-offs/{work_id}", status_code=204)
def delete_one_off(work_id: str, session: WriteSession) -> None:
    """Take the work out of the book."""
    one_off_work.delete_one_off(session, work_id)
