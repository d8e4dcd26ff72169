"""Messages to customers: who would be told about a day, who was, and telling them."""

from __future__ import annotations

from fastapi import APIRouter, BackgroundTasks, Request
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import DayPath, ReadSession, SettingsDep, WriteSession
from api.schemas.book import SiteOut
from api.schemas.notices import ContactIn, DayNoticesOut, NoticeOut
from api.telling import send_after
from dispatch.actions import notices
from dispatch.actions.notices_out import check_on
from dispatch.actions.site_contact import set_contact

router = APIRouter(tags=["notices"])


@router.get("/days/{day}/notices")
def list_notices(session: ReadSession, settings: SettingsDep, day: DayPath) -> DayNoticesOut:
    """Who would be told about a day if it were told now, and the messages decided on before."""
    found = notices.notices_of_day(session, settings, day, now=settings.now())
    return DayNoticesOut.of(found, sends_mail=settings.sends_mail)


@router.get("/days/{day}/notices.csv", response_class=Response)
def export_notices(session: ReadSession, settings: SettingsDep, day: DayPath) -> Response:
    """One line for each message about the day that was decided on, without addresses."""
    found = notices.notices_of_day(session, settings, day, now=settings.now())
    return csv_answer(f"notices-{day}", notices.notice_list(found.kept))


@router.post("/days/{day}/notices", status_code=202)
def tell_customers(
    request: Request,
    session: WriteSession,
    settings: SettingsDep,
    tasks: BackgroundTasks,
    day: DayPath,
) -> list[NoticeOut]:
    """Tell the customers of a day what is due, each once; it is sent after this is answered."""
    check_on(settings)
    told = notices.tell(session, settings, day, now=settings.now())
    tasks.add_task(send_after, request.app.state.engine, settings)
    return [NoticeOut.of(one) for one in told]


@router.post("/days/{day}/notices/again", status_code=202)
def try_again(
    request: Request,
    session: WriteSession,
    settings: SettingsDep,
    tasks: BackgroundTasks,
    day: DayPath,
) -> int:
    """Try the messages about a day again that were given up; how many there are."""
    check_on(settings)
    number = notices.try_again(session, day, now=settings.now())
    tasks.add_task(send_after, request.app.state.engine, settings)
    return number


@router.put("/sites/{site_id}/notices")
def write_contact(session: WriteSession, site_id: str, contact: ContactIn) -> SiteOut:
    """Write down where a customer is told of visits, and of what."""
    return SiteOut.of(set_contact(session, site_id, contact.email, contact.notices))
