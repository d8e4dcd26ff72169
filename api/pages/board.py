"""The dispatcher's day: where it stands, what to look at, and repairs compared side by side."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Annotated, Any
from uuid import uuid4

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import TypeAdapter, ValidationError
from sqlmodel import Session

from api.deps import (
    DayPath,
    PersonDep,
    ReadSession,
    SettingsDep,
    UnitsDep,
    WeekPath,
    WriteSession,
)
from api.pages.board_view import board, looks
from api.pages.templating import render
from api.pages.units import Units
from api.schemas.day_repair import TriggerIn, unreadable
from dispatch.actions import book, plan_versions
from dispatch.actions import day as actions
from dispatch.actions.notices import failed_notices
from dispatch.actions.publish_seen import check_day_seen, check_week_seen, repair_seen
from dispatch.actions.repair_words import told
from dispatch.actions.week_check import check_day_ready, check_ready
from dispatch.actions.working_day import nights_under_way, on_shift_s
from dispatch.clock import IsoWeek, parse_time
from dispatch.day.events import DayEvent, EventKind
from dispatch.day.options import Choice
from dispatch.day.triggers import Trigger
from dispatch.errors import DayMoved, InvalidValue, NotFound, NotReady
from dispatch.settings import Settings
from dispatch.store.db import transaction
from dispatch.words import _

router = APIRouter()


class Back(StrEnum):
    """The page to show after publishing: the one the button stood on."""

    DAY = "day"
    WEEK = "week"


OFFICE = (EventKind.PUBLISHED, EventKind.REPAIRED)
CHOICE = TypeAdapter(Choice)
Words = Annotated[str, Form(max_length=500)]
Seen = Annotated[int | None, Form(ge=0)]
Asked = Annotated[str, Query(max_length=200)]


@router.get("/day/{day}")
def show_board(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    day: DayPath,
    at: int | None = None,
) -> HTMLResponse:
    """Where the day stands now, or stood after the event `at` of its history."""
    common: dict[str, Any] = {
        "day": day,
        "week": IsoWeek.of(day),
        "day_before": day - timedelta(days=1),
        "day_after": day + timedelta(days=1),
        "at": at,
        "nights": nights_under_way(session, settings) if day == settings.today() else (),
        "version": plan_versions.trail(session, IsoWeek.of(day)).version,
        "repair_seen": repair_seen(session, day),
    }
    try:
        if at is None:
            now = actions.day_now(session, settings, day, now=settings.now())
        else:
            now = actions.state_at(session, settings, day, at)
    except NotFound:
        if at is not None:
            raise
        later = (one for one in actions.published_days(session) if one > day)
        return render(
            request,
            "board_unpublished.html",
            coming=actions.moved_visits(session, [day]),
            names=_names(session),
            next_day=next(later, None),
            **common,
        )
    axis, lanes = board(now, settings.zone)
    office = [one for one in actions.history(session, settings, day) if one.kind in OFFICE]
    return render(
        request,
        "board.html",
        now=now,
        axis=axis,
        lanes=lanes,
        looks=looks(now),
        untold=failed_notices(session, day),
        last=office[-1] if office else None,
        zone=settings.zone,
        sites=book.sites(session),
        move_span=actions.move_span(day, settings.today()),
        **common,
    )


@router.get("/day/{day}/history")
def show_history(
    request: Request, session: ReadSession, settings: SettingsDep, day: DayPath
) -> HTMLResponse:
    """Who changed what on the day, when and why; every earlier state can be shown."""
    events = actions.history(session, settings, day)
    names = {one.id: one.name for one in book.technicians(session)}
    return render(
        request, "board_history.html", day=day, events=events, names=names, zone=settings.zone
    )


@router.post("/day/{day}/publish")
def publish_from_form(
    request: Request,
    settings: SettingsDep,
    person: PersonDep,
    day: DayPath,
    anyway: Annotated[bool, Form()] = False,
    back: Annotated[Back, Form()] = Back.DAY,
    version: Seen = None,
    repair: Seen = None,
) -> Response:
    """Publish the day as it is planned; then show it, or the week again.

    Where a rule is broken on it, that is named first, and a second press is needed. `version` of
    the plan and `repair` of the day are what the page showed; where another changed one since,
    nothing is published.
    """
    week, today = IsoWeek.of(day), settings.today()

    def check(session: Session) -> None:
        check_day_seen(session, day, version, repair, settings.zone)
        check_day_ready(session, settings, day, today)

    seen = {"version": version, "repair": repair}
    if not anyway and (question := _question(request, back, week, day, check, seen)):
        return question
    with transaction(request.app.state.engine) as session:
        check_day_seen(session, day, version, repair, settings.zone)
        actions.publish_day(session, settings, day, who=person.name, at=settings.now())
    where = f"/week/{week}?day={day}#d{day}" if back is Back.WEEK else f"/day/{day}"
    return RedirectResponse(where, 303)


@router.post("/week/{week}/publish")
def publish_week_from_form(
    request: Request,
    settings: SettingsDep,
    person: PersonDep,
    week: WeekPath,
    anyway: Annotated[bool, Form()] = False,
    back: Annotated[Back, Form()] = Back.DAY,
    version: Seen = None,
) -> Response:
    """Publish the days of the week that have not begun; then show the first, or the week again.

    Where a point of the check list is wrong, it is named first, and a second press is needed.
    `version` of the plan is what the page showed; where another changed it since, nothing is
    published.
    """
    today = settings.today()

    def check(session: Session) -> None:
        check_week_seen(session, week, version)
        check_ready(session, settings, week, today)

    seen = {"version": version}
    if not anyway and (question := _question(request, back, week, None, check, seen)):
        return question
    with transaction(request.app.state.engine) as session:
        check_week_seen(session, week, version)
        days = actions.publish_week(session, settings, week, who=person.name, at=settings.now())
    if back is Back.WEEK:
        return RedirectResponse(f"/week/{week}", 303)
    return RedirectResponse(f"/day/{min(days, default=week.monday)}", 303)


def _question(
    request: Request,
    back: Back,
    week: IsoWeek,
    day: date | None,
    check: Callable[[Session], None],
    seen: Mapping[str, int | None],
) -> Response | None:
    """The page that names what is wrong with the week, or a day of it; None where nothing is.

    What was `seen` goes with the second press.
    """
    try:
        with transaction(request.app.state.engine, read_only=True) as session:
            check(session)
    except NotReady as error:
        shown: dict[str, Any] = {"week": week, "day": day, "points": error.points, "back": back}
        shown["seen"] = {name: number for name, number in seen.items() if number is not None}
        return render(request, "week_publish.html", **shown)
    return None


@router.post("/day/{day}/alarm/{technician_id}")
def clear_alarm_from_form(
    session: WriteSession,
    settings: SettingsDep,
    person: PersonDep,
    day: DayPath,
    technician_id: str,
    why: Words,
) -> RedirectResponse:
    """Take note that somebody reached the technician, and how."""
    if not why.strip():
        raise InvalidValue(_("Say how you know that the technician is well, as 'called back'."))
    now, kind = settings.now(), EventKind.ALARM_CLEARED
    event = DayEvent(str(uuid4()), day, kind, now, now, person.name, technician_id, why=why.strip())
    for taken in actions.add_events(session, settings, day, [event]):
        if taken.reason:
            raise InvalidValue(taken.reason)
    return RedirectResponse(f"/day/{day}", 303)


@router.get("/day/{day}/repair")
def show_options(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    units: UnitsDep,
    day: DayPath,
    kind: Asked,
    technician_id: Asked = "",
    time: Asked = "",
    visit_id: Asked = "",
    to_day: Asked = "",
    minutes: Asked = "",
    site_id: Asked = "",
    lat: Asked = "",
    lon: Asked = "",
    radius_m: Asked = "",
    radius: Asked = "",
) -> HTMLResponse:
    """Ways to repair the day after what happened, side by side with their prices.

    `radius` is in the reader's unit of short distances, `radius_m` in metres.
    """
    asked = {
        "kind": kind,
        "technician_id": technician_id,
        "at_s": on_shift_s(session, settings, day, technician_id, parse_time(time)) if time else "",
        "visit_id": visit_id,
        "to_day": to_day,
        "minutes": minutes,
        "site_id": site_id,
        "lat": lat,
        "lon": lon,
        "radius_m": _metres(radius, units) if radius else radius_m,
    }
    trigger = _trigger(session, settings, day, asked)
    offer = actions.repair_options(session, settings, day, trigger, now=settings.now())
    choices = {one.key: CHOICE.dump_json(one.choice).decode() for one in offer.options}
    return render(
        request,
        "board_repair.html",
        day=day,
        offer=offer,
        choices=choices,
        told=told(offer),
        again=request.url.query,
    )


@router.post("/day/{day}/repair")
def take_from_form(
    request: Request,
    session: WriteSession,
    settings: SettingsDep,
    person: PersonDep,
    day: DayPath,
    choice: Annotated[str, Form(max_length=500_000)],
    version: Annotated[int, Form(ge=0)],
    reason: Words,
    title: Words = "",
    again: Annotated[str, Form(max_length=2000)] = "",
) -> Response:
    """Take an option; where the day has moved on, say so and keep what was asked and written."""
    try:
        wish = CHOICE.validate_json(choice)
    except ValidationError as error:
        raise InvalidValue(_("The option cannot be read: ask for the options again.")) from error
    why = f"{wish.why}. {reason.strip()}" if reason.strip() else wish.why
    try:
        actions.take_option(
            session,
            settings,
            day,
            replace(wish, why=why[:2000]),
            expected_version=version,
            who=person.name,
            now=settings.now(),
        )
    except DayMoved as error:
        events = actions.history(session, settings, day, after=version)
        shown: dict[str, Any] = {
            "words": str(error),
            "title": title,
            "reason": reason,
            "again": again,
        }
        shown |= {"events": events, "zone": settings.zone, "day": day}
        return render(request, "board_moved.html", 409, **shown)
    return RedirectResponse(f"/day/{day}", 303)


def _trigger(session: Session, settings: Settings, day: date, asked: dict[str, Any]) -> Trigger:
    given = {name: value for name, value in asked.items() if value != ""}
    try:
        happened = TriggerIn.model_validate(given)
    except ValidationError as error:
        field = str(error.errors()[0]["loc"][0])
        raise InvalidValue(unreadable(field)) from error
    return happened.trigger(session, settings, day)


def _metres(radius: str, units: Units) -> str:
    """A radius in metres, of one in the reader's unit; what is no number stays for the check."""
    try:
        return str(float(radius) * units.near_m)
    except ValueError:
        return radius


def _names(session: Session) -> dict[str, str]:
    """Names of technicians and sites, by id."""
    names = {one.id: one.name for one in book.technicians(session)}
    return names | {one.id: one.name for one in book.sites(session)}
