"""The technician's phone: the day to keep there, and what was entered on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Request
from fastapi.responses import Response

from api.callers import note_call
from api.csvs import csv_answer
from api.deps import CallerDep, DayPath, PersonDep, ReadSession, SettingsDep
from api.pages.units import Units
from api.schemas.named import NamedDay
from api.schemas.phone import SENDING_EXAMPLE, EntryOut, PhoneDayOut, ReplyOut
from dispatch.actions import phone_day, phone_entries, working_day
from dispatch.actions.day_sheet import cautions_of
from dispatch.actions.gate_codes import may_see_codes, with_codes
from dispatch.people import Caller
from dispatch.phone.entry import Outcome
from dispatch.store.phone_entries import KeptEntry

router = APIRouter(prefix="/phone", tags=["phone"])

Content = Annotated[Any, Body(examples=[SENDING_EXAMPLE])]
Day = Annotated[NamedDay | None, Query()]


@router.get("/me")
def show_me(person: PersonDep) -> dict[str, str]:
    """Which technician is signed in; empty for whoever is none."""
    return {"technician_id": person.technician_id or "", "name": person.name}


@router.get("/days/{technician_id}")
def show_today(
    session: ReadSession, settings: SettingsDep, caller: CallerDep, technician_id: str
) -> PhoneDayOut:
    """A technician's published day of today, with all that the phone needs without signal.

    While a night shift goes on after midnight it is the day on which that began. Gate codes are
    there for the technician alone, signed in, on the day itself and until its shift ends.
    """
    day = working_day.working_day(session, settings, technician_id)
    return _day(session, settings, caller, technician_id, day)


@router.get("/days/{technician_id}/{day}")
def show_day(
    session: ReadSession,
    settings: SettingsDep,
    caller: CallerDep,
    technician_id: str,
    day: DayPath,
) -> PhoneDayOut:
    """The same for any day."""
    return _day(session, settings, caller, technician_id, day)


@router.post("/entries")
def take_entries(
    request: Request, settings: SettingsDep, person: PersonDep, content: Content
) -> ReplyOut:
    """Take in entries, each once however often it is sent, each in a transaction of its own.

    The answer says of each, in order: taken, already (taken before) or refused. What is refused
    is set aside word for word for the office and holds up nothing.
    """
    sending = phone_entries.Sending.of(content)
    engine = request.app.state.engine
    noted = partial(note_call, request=request)  # in one transaction, as there are many such calls
    return ReplyOut.of(phone_entries.take_entries(engine, settings, person, sending, noted))


@router.get("/entries")
def list_entries(
    session: ReadSession,
    technician: str | None = None,
    day: Day = None,
    outcome: Outcome | None = None,
) -> list[EntryOut]:
    """Entries as they were answered, in the order in which they were taken."""
    return [EntryOut.of(one) for one in _entries(session, technician, day, outcome)]


@router.get("/entries.csv", response_class=Response)
def export_entries(
    session: ReadSession,
    technician: str | None = None,
    day: Day = None,
    outcome: Outcome | None = None,
) -> Response:
    """The same as a table."""
    table = phone_entries.entry_table(_entries(session, technician, day, outcome))
    return csv_answer("phone-entries", table)


def _entries(
    session: ReadSession, technician: str | None, day: date | None, outcome: Outcome | None
) -> list[KeptEntry]:
    return phone_entries.entries_of(session, technician_id=technician, day=day, outcome=outcome)


def _day(
    session: ReadSession, settings: SettingsDep, caller: Caller, technician_id: str, day: date
) -> PhoneDayOut:
    customary = Units.of(caller.person, settings.country).customary
    found = phone_day.phone_day(session, settings, technician_id, day, customary=customary)
    shown = may_see_codes(session, settings, caller, technician_id, day)
    stops = tuple(
        replace(one, row=with_codes(settings, one.row, shown=shown)) for one in found.stops
    )
    found = replace(found, stops=stops)
    cautions = cautions_of(settings, found.sheet)
    return PhoneDayOut.of(found, settings, cautions, customary=customary)
