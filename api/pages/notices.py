"""The page on which the dispatcher tells customers of a day, after seeing who will be told."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, BackgroundTasks, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import DayPath, ReadSession, SettingsDep, WriteSession
from api.pages.templating import render
from api.telling import send_after
from dispatch.actions import notices
from dispatch.actions.notices_out import check_on
from dispatch.actions.site_contact import set_contact
from dispatch.contacts import LONGEST_EMAIL, NoticeWish
from dispatch.settings import Settings

router = APIRouter()


@router.get("/day/{day}/notices")
def show_notices(
    request: Request, session: ReadSession, settings: SettingsDep, day: DayPath
) -> HTMLResponse:
    """Who will be told about the day, and what became of the messages about it."""
    return render(
        request,
        "notices.html",
        day=day,
        found=notices.notices_of_day(session, settings, day, now=settings.now()),
        lacks=settings.mail_lacks,
        zone=settings.zone,
    )


@router.post("/day/{day}/notices")
def tell_from_form(
    request: Request,
    session: WriteSession,
    settings: SettingsDep,
    tasks: BackgroundTasks,
    day: DayPath,
) -> RedirectResponse:
    """Tell them; the messages are sent once this is answered."""
    check_on(settings)
    notices.tell(session, settings, day, now=settings.now())
    return _sent(request, settings, tasks, day)


@router.post("/day/{day}/notices/again")
def try_again_from_form(
    request: Request,
    session: WriteSession,
    settings: SettingsDep,
    tasks: BackgroundTasks,
    day: DayPath,
) -> RedirectResponse:
    """Try the messages again that were given up."""
    check_on(settings)
    notices.try_again(session, day, now=settings.now())
    return _sent(request, settings, tasks, day)


@router.post("/sites/{site_id}/notices")
def write_contact_from_form(
    session: WriteSession,
    site_id: str,
    email: Annotated[str, Form(max_length=LONGEST_EMAIL)] = "",
    notices: Annotated[list[NoticeWish], Form(max_length=len(NoticeWish))] = [],  # noqa: B006
) -> RedirectResponse:
    """Write down where a customer is told of visits, and of what."""
    set_contact(session, site_id, email, notices)
    return RedirectResponse(f"/sites/{site_id}#notices", 303)


def _sent(
    request: Request, settings: Settings, tasks: BackgroundTasks, day: date
) -> RedirectResponse:
    """Back to the page; what waits is sent once this is answered."""
    tasks.add_task(send_after, request.app.state.engine, settings)
    return RedirectResponse(f"/day/{day}/notices", 303)
