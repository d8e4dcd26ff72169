"""People, API tokens and the audit log."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, BackgroundTasks, Query, Request
from fastapi.responses import Response

from api.csvs import csv_answer
from api.deps import (
    CallerDep,
    PeopleRead,
    PeopleWrite,
    PersonDep,
    ReadSession,
    SettingsDep,
    TechnicianIds,
)
from api.schemas.people import (
    LinkOut,
    NewTokenOut,
    NotedOut,
    PersonIn,
    PersonOut,
    RightIn,
    TokenIn,
    TokenOut,
)
from dispatch.actions import audit, people
from dispatch.actions.calendars import end_calendar_of
from dispatch.settings import Settings

router = APIRouter(tags=["people"])
ALL_LINES = 1_000_000  # of the audit log in one file
Most = Annotated[int, Query(ge=1, le=10_000)]


@router.get("/me")
def show_me(caller: CallerDep) -> PersonOut:
    """Who is signed in, or whose API token calls."""
    return PersonOut.of(caller.person)


@router.get("/people")
def list_people(session: PeopleRead) -> list[PersonOut]:
    """Everybody who may sign in, ordered by sign-in name."""
    return [PersonOut.of(one) for one in people.everybody(session)]


@router.get("/people.csv", response_class=Response)
def export_people(session: PeopleRead) -> Response:
    """Everybody who may sign in."""
    return csv_answer("people", people.people_list(people.everybody(session)))


@router.post("/people", status_code=201)
def add_person(
    session: PeopleWrite, settings: SettingsDep, technicians: TechnicianIds, wish: PersonIn
) -> PersonOut:
    """Let somebody sign in, once a password is set by the link of an invitation."""
    person = wish.value()
    people.add_person(session, person, settings.now(), technicians=technicians)
    return PersonOut.of(person)


@router.post("/people/{person_id}/rights", status_code=201)
def grant(
    session: PeopleWrite, technicians: TechnicianIds, person_id: str, wish: RightIn
) -> PersonOut:
    """Give somebody of another branch rights in this one; sign-in name and password stay."""
    technician_id = wish.technician_id or None
    return PersonOut.of(
        people.grant(session, person_id, wish.role, technician_id, technicians=technicians)
    )


@router.put("/people/{person_id}")
def change_person(
    request: Request,
    session: PeopleWrite,
    settings: SettingsDep,
    technicians: TechnicianIds,
    owner: PersonDep,
    afterwards: BackgroundTasks,
    person_id: str,
    wish: PersonIn,
) -> PersonOut:
    """Give somebody another name, role or technician; the id in the address counts.

    The address of the calendar of a former technician ends.
    """
    person = wish.model_copy(update={"id": person_id}).value()
    before = people.person_of(session, person_id)
    if before.technician_id != person.technician_id:
        afterwards.add_task(end_calendar_of, request.app.state.engine, before)
    people.change_person(session, person, settings.now(), technicians=technicians, by=owner.id)
    return PersonOut.of(person)


@router.delete("/people/{person_id}", status_code=204)
def remove_person(
    request: Request, session: PeopleWrite, afterwards: BackgroundTasks, person_id: str
) -> None:
    """Take somebody out, with sessions, links and API tokens; never the only owner (409).

    The address of the technician's calendar ends as well.
    """
    person = people.person_of(session, person_id)
    people.remove_person(session, person_id)
    afterwards.add_task(end_calendar_of, request.app.state.engine, person)


@router.post("/people/{person_id}/invitation", status_code=201)
def invite(
    request: Request, session: PeopleWrite, settings: SettingsDep, caller: PersonDep, person_id: str
) -> LinkOut:
    """Make a one-time link by which the person sets a password; an earlier one ends."""
    secret = people.invite(session, person_id, settings.now(), by=caller.id)
    return LinkOut(address=welcome_address(request, settings, secret))


@router.get("/tokens")
def list_tokens(session: PeopleRead) -> list[TokenOut]:
    """All API tokens, without their secrets."""
    return [TokenOut.of(one) for one in people.tokens(session)]


@router.get("/tokens.csv", response_class=Response)
def export_tokens(session: PeopleRead) -> Response:
    """All API tokens, without their secrets."""
    return csv_answer("tokens", people.token_list(people.tokens(session)))


@router.post("/tokens", status_code=201)
def make_token(session: PeopleWrite, settings: SettingsDep, wish: TokenIn) -> NewTokenOut:
    """Make an API token; it may do, of what its person may do, what its scopes say."""
    token, secret = people.make_token(
        session, wish.person_id, wish.name, wish.scopes, days=wish.days, now=settings.now()
    )
    return NewTokenOut(token=TokenOut.of(token), secret=secret)


@router.delete("/tokens/{token_id}", status_code=204)
def remove_token(session: PeopleWrite, token_id: str) -> None:
    """Take an API token back."""
    people.remove_token(session, token_id)


@router.get("/audit")
def list_audit(
    session: ReadSession,
    directory: PeopleRead,
    most: Most = audit.PAGE_LINES,
    before: int | None = None,
    *,
    people: bool = False,
) -> list[NotedOut]:
    """Who did what and when, newest first; `before` is the number of the last line read.

    In an installation with branches `people` asks for the lines about sign-ins, people and
    tokens, which are kept where these are; without branches there is one log.
    """
    log = directory if people else session
    return [NotedOut.of(one) for one in audit.audit_lines(log, most=most, before=before)]


@router.get("/audit.csv", response_class=Response)
def export_audit(session: ReadSession, directory: PeopleRead, *, people: bool = False) -> Response:
    """The whole audit log, newest first; `people` as in `list_audit`."""
    log = directory if people else session
    return csv_answer("audit", audit.audit_list(audit.audit_lines(log, most=ALL_LINES)))


def welcome_address(request: Request, settings: Settings, secret: str) -> str:
    """The address of a one-time link, as people reach the service."""
    start = settings.own_url or str(request.base_url)
    return f"{start.rstrip('/')}/welcome/{secret}"
