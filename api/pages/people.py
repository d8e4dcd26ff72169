"""The owner's pages: people, API tokens and the audit log."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, BackgroundTasks, Form, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.deps import PeopleRead, PeopleWrite, PersonDep, ReadSession, SettingsDep
from api.pages.templating import render
from api.routes.people import welcome_address
from dispatch.actions import audit, book, people
from dispatch.actions.calendars import end_calendar_of
from dispatch.actions.versions import Thing, versions
from dispatch.errors import InvalidValue, NotFound
from dispatch.people import TOKEN_LASTS_DAYS, Person, Role, Scope
from dispatch.words import _

router = APIRouter()
Text = Annotated[str, Form()]


@router.get("/people")
def show_people(request: Request, session: PeopleRead, book_session: ReadSession) -> Response:
    """Everybody who may sign in, and the API tokens."""
    return _show(request, session, book_session)


@router.post("/people")
def add_from_form(
    request: Request,
    session: PeopleWrite,
    book_session: ReadSession,
    settings: SettingsDep,
    caller: PersonDep,
    person_id: Text,
    name: Text,
    role: Annotated[Role, Form()],
    technician_id: Text = "",
) -> Response:
    """Add somebody and show the link by which a password is set."""
    typed = {"person_id": person_id, "name": name, "role": role, "technician_id": technician_id}
    try:
        person = Person(person_id.strip().lower(), name.strip(), role, technician_id or None)
        known = [one.id for one in book.technicians(book_session)]
        people.add_person(session, person, settings.now(), technicians=known)
    except InvalidValue as error:
        return _show(request, session, book_session, words=str(error), status=422, typed=typed)
    secret = people.invite(session, person.id, settings.now(), by=caller.id)
    link = welcome_address(request, settings, secret)
    return _show(request, session, book_session, link=link, of=person.name)


@router.post("/people/rights")
def grant_from_form(
    request: Request,
    session: PeopleWrite,
    book_session: ReadSession,
    person_id: Text,
    role: Annotated[Role, Form()],
    technician_id: Text = "",
) -> Response:
    """Give somebody of another branch rights in this one and show the list."""
    known = [one.id for one in book.technicians(book_session)]
    name, technician = person_id.strip().lower(), technician_id or None
    try:
        people.grant(session, name, role, technician, technicians=known)
    except (InvalidValue, NotFound) as error:
        return _show(request, session, book_session, words=str(error), status=422)
    return RedirectResponse("/people", 303)


@router.post("/people/{person_id}/invite")
def invite_from_form(
    request: Request,
    session: PeopleWrite,
    book_session: ReadSession,
    settings: SettingsDep,
    caller: PersonDep,
    person_id: str,
) -> Response:
    """Make a new link for somebody and show it."""
    secret = people.invite(session, person_id, settings.now(), by=caller.id)
    person = people.person_of(session, person_id)
    link = welcome_address(request, settings, secret)
    return _show(request, session, book_session, link=link, of=person.name)


@router.post("/people/{person_id}/remove")
def remove_from_form(
    request: Request, session: PeopleWrite, afterwards: BackgroundTasks, person_id: str
) -> Response:
    """Take somebody out, end the calendar's address and show the list."""
    person = people.person_of(session, person_id)
    people.remove_person(session, person_id)
    afterwards.add_task(end_calendar_of, request.app.state.engine, person)
    return RedirectResponse("/people", 303)


@router.post("/people/{person_id}/sign-out")
def sign_out_from_form(
    request: Request,
    session: PeopleWrite,
    book_session: ReadSession,
    caller: PersonDep,
    afterwards: BackgroundTasks,
    person_id: str,
) -> Response:
    """Sign somebody out, as after a lost phone, wherever the caller is an owner; show the list.

    The phone may have subscribed to the calendar, whose address ends as well.
    """
    left = people.sign_out_everywhere(session, person_id, by=caller.id)
    person = people.person_of(session, person_id)
    afterwards.add_task(end_calendar_of, request.app.state.engine, person)
    if not left:
        return RedirectResponse("/people", 303)
    words = _(
        "{name} is signed out here and stays signed in in {branches}, where you are no owner: an "
        "owner there signs out too, or 'dispatch people reset {person}' on the machine of the "
        "service ends everything."
    ).format(name=person.name, branches=", ".join(left), person=person.id)
    return _show(request, session, book_session, words=words)


@router.post("/tokens")
def make_token_from_form(
    request: Request,
    session: PeopleWrite,
    book_session: ReadSession,
    settings: SettingsDep,
    name: Text,
    person_id: Text,
    days: Annotated[int, Form(ge=1, le=TOKEN_LASTS_DAYS)],
    scopes: Annotated[list[Scope] | None, Form()] = None,
) -> Response:
    """Make an API token and show its secret, this once."""
    try:
        token, secret = people.make_token(
            session, person_id, name, scopes or [], days=days, now=settings.now()
        )
    except InvalidValue as error:
        return _show(request, session, book_session, words=str(error), status=422)
    return _show(request, session, book_session, secret=secret, of=token.name)


@router.post("/tokens/{token_id}/remove")
def remove_token_from_form(session: PeopleWrite, token_id: str) -> Response:
    """Take an API token back and show the list."""
    people.remove_token(session, token_id)
    return RedirectResponse("/people#tokens", 303)


@router.get("/audit")
def show_audit(
    request: Request,
    session: ReadSession,
    directory: PeopleRead,
    before: int | None = None,
    *,
    people: bool = False,
) -> Response:
    """Who did what and when, newest first; with branches `people` asks for the lines about them."""
    lines = audit.audit_lines(directory if people else session, before=before)
    more = lines[-1].number if len(lines) == audit.PAGE_LINES else None
    return render(request, "audit.html", lines=lines, more=more, of_people=people)


def _show(
    request: Request,
    session: Session,
    book_session: Session,
    *,
    status: int = 200,
    typed: dict[str, Any] | None = None,
    **told: str,
) -> Response:
    """The page, with what there is to tell: words, or a link or secret `of` somebody."""
    answer = render(
        request,
        "people.html",
        status,
        people=people.everybody(session),
        versions=versions(session, Thing.PERSON),
        tokens=people.tokens(session),
        technicians=book.technicians(book_session),
        roles=list(Role),
        scopes=list(Scope),
        most_days=TOKEN_LASTS_DAYS,
        typed={
            "person_id": "",
            "name": "",
            "role": "technician",
            "technician_id": "",
            **(typed or {}),
        },
        is_typed=bool(typed),
        told={"words": "", "link": "", "secret": "", "of": "", **told},
    )
    answer.headers["Cache-Control"] = "no-store"
    return answer
