"""The day: publish it, follow it, enter what happens, repair it."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterable
from datetime import date, datetime
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, BackgroundTasks, Header, Query, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response
from fastapi.sse import EventSourceResponse, ServerSentEvent

from api.csvs import csv_answer
from api.deps import DayPath, PersonDep, ReadSession, SettingsDep, WeekPath, WriteSession
from api.schemas.day_now import (
    DayEventIn,
    DayEventOut,
    DayNowOut,
    RevisionOut,
    TakenOut,
)
from api.schemas.day_repair import OfferOut, TakeIn, TriggerIn
from dispatch.actions import day as actions
from dispatch.actions.day_lists import day_stop_list, event_list
from dispatch.actions.publish_seen import check_day_seen, check_week_seen
from dispatch.actions.week_check import check_day_ready, check_ready
from dispatch.actions.working_day import A_DAY, nights_under_way
from dispatch.day.events import DayEvent
from dispatch.store.db import transaction

router = APIRouter(tags=["day"])

LOOK_S = 0.5  # seconds between two looks at a day's history; faster than a person reads a line
ALARM_LOOK_S = 20.0  # seconds between two looks for somebody who gives no sign of life
STREAM_S = 300.0  # seconds after which a stream ends; a browser opens it again by itself

Anyway = Annotated[bool, Query(description="publish although points of the check list are wrong")]
SeenVersion = Annotated[
    int | None, Query(description="the version of the plan that was looked at; none: any")
]
SeenRepair = Annotated[
    int | None,
    Query(description="the number of the day's latest repair that was looked at, 0 without one"),
]
Moment = Annotated[datetime | None, Query(description="the moment to look from; now by default")]


@router.get("/days")
def list_published_days(session: ReadSession) -> list[date]:
    """The days that were published, earliest first."""
    return actions.published_days(session)


@router.post("/days/{day}/publish")
def publish_day(
    request: Request,
    settings: SettingsDep,
    person: PersonDep,
    day: DayPath,
    afterwards: BackgroundTasks,
    anyway: Anyway = False,
    version: SeenVersion = None,
    repair: SeenRepair = None,
) -> list[RevisionOut]:
    """Publish the planned routes of a day; the answer has the routes that are new.

    409 `not-ready` names the rules that are broken on the day, unless `anyway`. 412 tells who has
    changed the day since `version` or `repair`; nothing is published then.
    """
    engine = request.app.state.engine
    if not anyway:
        with transaction(engine, read_only=True) as session:
            check_day_seen(session, day, version, repair, settings.zone)
            check_day_ready(session, settings, day, settings.today())
    afterwards.add_task(_make_ready)
    with transaction(engine) as session:
        check_day_seen(session, day, version, repair, settings.zone)
        made = actions.publish_day(session, settings, day, who=person.name, at=settings.now())
    return [RevisionOut.of(one) for one in made]


@router.post("/weeks/{week}/publish")
def publish_week(
    request: Request,
    settings: SettingsDep,
    person: PersonDep,
    week: WeekPath,
    afterwards: BackgroundTasks,
    anyway: Anyway = False,
    version: SeenVersion = None,
) -> dict[date, list[RevisionOut]]:
    """Publish every day of a planned week that has neither begun nor been repaired.

    409 `not-ready` names the points of the check list that are wrong, unless `anyway`. 412 tells
    who has changed the plan since `version`; nothing is published then.
    """
    engine = request.app.state.engine
    if not anyway:
        with transaction(engine, read_only=True) as session:
            check_week_seen(session, week, version)
            check_ready(session, settings, week, settings.today())
    afterwards.add_task(_make_ready)
    with transaction(engine) as session:
        check_week_seen(session, week, version)
        made = actions.publish_week(session, settings, week, who=person.name, at=settings.now())
    return {day: [RevisionOut.of(one) for one in routes] for day, routes in made.items()}


def _make_ready() -> None:
    """Compile what repairs need, so that the first one need not wait for it."""
    from dispatch.day.warm import compile_repairs  # compiled code, slow to import

    compile_repairs()


@router.get("/days/{day}")
def show_day(
    session: ReadSession, settings: SettingsDep, day: DayPath, at: Moment = None
) -> DayNowOut:
    """Where the day stands: states, true and expected times, and what to look at."""
    return DayNowOut.of(actions.day_now(session, settings, day, now=at or settings.now()))


@router.get("/days/{day}/stops.csv", response_class=Response)
def export_day(session: ReadSession, settings: SettingsDep, day: DayPath) -> Response:
    """One line for each visit that was due on the day."""
    now = actions.day_now(session, settings, day, now=settings.now())
    return csv_answer(f"day-{day}", day_stop_list(now))


@router.get("/days/{day}/history")
def show_history(
    session: ReadSession, settings: SettingsDep, day: DayPath, after: int = 0
) -> list[DayEventOut]:
    """What happened on the day: who changed what, when and why."""
    found = actions.history(session, settings, day, after=after)
    return [DayEventOut.of(event) for event in found]


@router.get("/days/{day}/history.csv", response_class=Response)
def export_history(session: ReadSession, settings: SettingsDep, day: DayPath) -> Response:
    """One line for each event of the day."""
    return csv_answer(f"history-{day}", event_list(actions.history(session, settings, day)))


@router.get("/days/{day}/history/{number}")
def show_earlier_state(
    session: ReadSession, settings: SettingsDep, day: DayPath, number: int
) -> DayNowOut:
    """The day as it stood after one of its events."""
    return DayNowOut.of(actions.state_at(session, settings, day, number))


@router.post("/days/{day}/events")
def add_events(
    session: WriteSession,
    settings: SettingsDep,
    person: PersonDep,
    day: DayPath,
    sent: list[DayEventIn],
) -> list[TakenOut]:
    """Enter what happened; an event sent twice counts once, one that cannot be is refused."""
    now = settings.now()
    events = [
        DayEvent(
            id=one.id or str(uuid4()),
            day=day,
            kind=one.kind,
            at=one.at or now,
            received_at=now,
            who=person.name,
            technician_id=one.technician_id,
            visit_id=one.visit_id,
            why=one.why,
            data=one.data,
        )
        for one in sent
    ]
    return [TakenOut.of(one) for one in actions.add_events(session, settings, day, events)]


@router.get("/days/{day}/routes/{technician_id}")
def show_route(
    session: ReadSession, settings: SettingsDep, day: DayPath, technician_id: str
) -> RevisionOut:
    """A technician's route as it was published last."""
    return RevisionOut.of(actions.route_now(session, settings, day, technician_id))


@router.post("/days/{day}/repairs")
def offer_repairs(
    session: ReadSession, settings: SettingsDep, day: DayPath, happened: TriggerIn
) -> OfferOut:
    """Ways to repair the day after what happened, each with its price; nothing is changed."""
    trigger = happened.trigger(session, settings, day)
    return OfferOut.of(actions.repair_options(session, settings, day, trigger, now=settings.now()))


@router.post("/days/{day}/repairs/take")
def take_repair(
    session: WriteSession, settings: SettingsDep, person: PersonDep, day: DayPath, wish: TakeIn
) -> list[RevisionOut]:
    """Take an option; 409 when the day has moved on since, with what and by whom."""
    made = actions.take_option(
        session,
        settings,
        day,
        wish.choice,
        expected_version=wish.expected_version,
        who=person.name,
        now=settings.now(),
    )
    return [RevisionOut.of(one) for one in made]


@router.post("/days/{day}/alarms")
def look_for_alarms(
    session: WriteSession, settings: SettingsDep, day: DayPath
) -> list[DayEventOut]:
    """Raise an alarm for each technician who is overdue without a sign of life."""
    raised = actions.raise_alarms(session, settings, day, now=settings.now())
    return [DayEventOut.of(event) for event in raised]


@router.get("/days/{day}/stream", response_class=EventSourceResponse)
async def watch_day(
    request: Request,
    settings: SettingsDep,
    day: DayPath,
    after: int | None = None,
    last_event_id: Annotated[int | None, Header()] = None,
) -> AsyncIterable[ServerSentEvent]:
    """Each new event of the day as a server-sent event named `day`: its number, kind, technician.

    Begins after `after`, or after the last event that the caller saw; by default with what comes.
    While anybody watches a day, alarms are raised on it, and on the night shifts of the day before
    that go on still.
    """
    engine = request.app.state.engine

    def new(number: int | None) -> list[DayEvent]:
        with transaction(engine, read_only=True) as session:
            if number is None:
                return actions.history(session, settings, day)[-1:]
            return actions.history(session, settings, day, after=number)

    def look() -> None:
        today = settings.today()
        with transaction(engine, read_only=True) as session:
            watched = {day} & {today, today - A_DAY} & set(actions.published_days(session))
            watched |= {one.day for one in nights_under_way(session, settings) if day == today}
        for one in sorted(watched):
            with transaction(engine) as session:
                actions.raise_alarms(session, settings, one, now=settings.now())

    seen = last_event_id if last_event_id is not None else after
    if seen is None:
        latest = await run_in_threadpool(new, None)
        seen = latest[0].number if latest else 0
    yield ServerSentEvent(data={"number": seen}, event="hello", id=str(seen))
    began, looked = time.monotonic(), 0.0
    while time.monotonic() - began < STREAM_S and not await request.is_disconnected():
        if time.monotonic() - looked > ALARM_LOOK_S:
            await run_in_threadpool(look)
            looked = time.monotonic()
        for event in await run_in_threadpool(new, seen):
            seen = event.number
            told = {"number": seen, "kind": event.kind, "technician_id": event.technician_id}
            yield ServerSentEvent(data=told, event="day", id=str(seen))
        await asyncio.sleep(LOOK_S)
