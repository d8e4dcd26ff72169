"""The page on which a new customer is given a technician and weekdays."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import ReadSession, SettingsDep, WriteSession
from api.pages.templating import render
from dispatch.actions import new_customer, read_plan
from dispatch.actions.new_customer import SHOWN, Wish
from dispatch.clock import WEEKDAY_NAMES, WEEKDAYS, IsoWeek
from dispatch.errors import DispatchError
from dispatch.planning.explain import amount_in_words
from dispatch.settings import Settings
from dispatch.sites import Rhythm

router = APIRouter()


@router.get("/new-customer")
def show_new_customer(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    name: str = "",
    address: str = "",
    rhythm: Rhythm = Rhythm.WEEKLY,
    service_min: int = 30,
    favourite: str = "",
) -> HTMLResponse:
    """The form, and once it is filled the best places with what each costs."""
    week = _week(session, settings)
    context: dict[str, Any] = {"found": None, "fault": ""}
    if address and week is not None:
        liked = int(favourite) if favourite.isdecimal() and int(favourite) < 7 else None
        try:
            wish = Wish(name or address, address, rhythm, service_min, liked)
            context["found"] = new_customer.places_for(
                session, settings, week, wish, settings.today()
            )
        except DispatchError as error:
            context["fault"] = str(error)
    asked = {"name": name, "address": address, "rhythm": rhythm, "service_min": service_min}
    return render(
        request,
        "new_customer.html",
        **context,
        week=week,
        asked=asked | {"favourite": favourite},
        rhythms=list(Rhythm),
        weekdays=WEEKDAYS,
        weekday_names=WEEKDAY_NAMES,
        shown=SHOWN,
        in_words=amount_in_words,
    )


@router.post("/new-customer")
def take_on(
    session: WriteSession,
    settings: SettingsDep,
    name: Annotated[str, Form()],
    address: Annotated[str, Form()],
    rhythm: Annotated[Rhythm, Form()],
    service_min: Annotated[int, Form()],
    technician_id: Annotated[str, Form()],
    weekdays: Annotated[str, Form()],
) -> RedirectResponse:
    """Add the customer to the book and show the new site."""
    wish = Wish(name, address, rhythm, service_min)
    place = new_customer.find_address(settings, address)
    days = [int(one) for one in weekdays.split(";") if one.isdecimal()]
    site = new_customer.take_on(session, wish, place, technician_id, days)
    return RedirectResponse(f"/sites/{site.id}", 303)


def _week(session: ReadSession, settings: Settings) -> IsoWeek | None:
    """The last planned week that is not over: the one that is most like the weeks to come."""
    ahead = [one for one in read_plan.planned_weeks(session) if one.sunday >= settings.today()]
    return ahead[-1] if ahead else None
