"""The way in: signing in and out, links that set a password, one's own account."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.callers import cookie_of
from api.deps import CallerDep, PeopleRead, PeopleWrite, PersonDep, SettingsDep
from api.errors import STATUS, headers_of
from api.pages.templating import render
from dispatch.actions import people, sign_in
from dispatch.errors import InvalidValue, TooManyTries, WrongSignIn
from dispatch.passwords import SHORTEST
from dispatch.people import SESSION_LASTS, LinkUse, Measures, Person, Role
from dispatch.settings import Settings
from dispatch.words import _, languages_by_code

router = APIRouter()
Text = Annotated[str, Form()]


@router.get("/sign-in")
def show_sign_in(request: Request, next: str = "/") -> Response:  # noqa: A002 - as in the address
    """The form to sign in with."""
    return render(request, "sign_in.html", words="", person_id="", next=_local(next))


@router.post("/sign-in")
def sign_in_from_form(
    request: Request,
    settings: SettingsDep,
    person_id: Text,
    password: Text,
    next: Text = "/",  # noqa: A002
) -> Response:
    """Sign the browser in and lead to the page that was asked for."""
    name, address = person_id.strip().lower(), _address(request)
    throttle, engine = request.app.state.throttle, request.app.state.directory
    try:
        throttle.count(name, address)
        secret = sign_in.sign_in(
            engine,
            name,
            password,
            now=settings.now(),
            device=_device(request),
            old=_secret(request),
        )
    except (WrongSignIn, TooManyTries) as error:
        shown = {"words": str(error), "person_id": name[:60], "next": _local(next)}
        answer = render(request, "sign_in.html", STATUS[error.code], **shown)
        answer.headers.update(headers_of(error))
        return answer
    throttle.forgive(name, address)
    return _signed_in(settings, secret, _local(next))


@router.post("/sign-out")
def sign_out_from_form(request: Request, caller: CallerDep, settings: SettingsDep) -> Response:
    """Sign this browser out."""
    sign_in.sign_out(request.app.state.directory, caller, _secret(request), settings.now())
    answer = RedirectResponse("/sign-in", 303)
    answer.delete_cookie(cookie_of(settings))
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


@router.get("/welcome/{secret}")
def follow_link(request: Request, settings: SettingsDep, secret: str) -> Response:
    """What a one-time link leads to: a form to set a password, or straight in for the demo."""
    engine, now = request.app.state.directory, settings.now()
    use, person = sign_in.follow_link(engine, secret, now)
    if use is LinkUse.SIGN_IN:
        new = sign_in.sign_in_by_link(engine, secret, now=now, device=_device(request))
        return _signed_in(settings, new, "/")
    return _welcome(request, person, "")


@router.post("/welcome/{secret}")
def set_password_from_form(
    request: Request,
    settings: SettingsDep,
    secret: str,
    password: Text,
    again: Text,
    person_id: Text = "",
    name: Text = "",
) -> Response:
    """Set the password, use the link up and sign in."""
    engine, now, device = request.app.state.directory, settings.now(), _device(request)
    use, person = sign_in.follow_link(engine, secret, now)
    try:
        _check_same(password, again)
        if use is LinkUse.FIRST_OWNER:
            first = Person(person_id.strip().lower(), name.strip(), Role.OWNER)
            new = sign_in.make_first_owner(engine, secret, first, password, now=now, device=device)
        else:
            new = sign_in.set_password(engine, secret, password, now=now, device=device)
    except InvalidValue as error:
        typed = {"person_id": person_id, "name": name}
        return _welcome(request, person, str(error), status=422, **typed)
    return _signed_in(settings, new, "/")


@router.get("/account")
def show_account(
    request: Request,
    session: PeopleRead,
    person: PersonDep,
    done: str = "",
) -> Response:
    """One's own account: units, password, and where one is signed in."""
    return _account(request, session, person, done=done)


@router.post("/account/units")
def choose_units_from_form(
    session: PeopleWrite, person: PersonDep, units: Annotated[Measures, Form()]
) -> Response:
    """Show this person all pages in these units."""
    people.choose_units(session, person.id, units)
    return RedirectResponse("/account?done=units", 303)


@router.post("/account/language")
def choose_language_from_form(
    session: PeopleWrite, person: PersonDep, language: Text = ""
) -> Response:
    """Show this person all pages in this language."""
    people.choose_language(session, person.id, language)
    return RedirectResponse("/account?done=language", 303)


@router.post("/account/password")
def change_password_from_form(
    request: Request,
    session: PeopleRead,
    settings: SettingsDep,
    caller: CallerDep,
    old: Text,
    password: Text,
    again: Text,
) -> Response:
    """Change the password; every other browser is signed out."""
    engine, now = request.app.state.directory, settings.now()
    try:
        _check_same(password, again)
        request.app.state.throttle.count(caller.person.id, _address(request))
        here = _secret(request)
        sign_in.change_password(engine, caller, old, password, now=now, here=here)
    except (InvalidValue, WrongSignIn) as error:
        return _account(request, session, caller.person, status=422, words=str(error))
    except TooManyTries as error:
        answer = _account(
            request, session, caller.person, status=STATUS[error.code], words=str(error)
        )
        answer.headers.update(headers_of(error))
        return answer
    return RedirectResponse("/account?done=password", 303)


@router.post("/account/sign-out-everywhere")
def sign_out_everywhere_from_form(
    session: PeopleWrite, settings: SettingsDep, person: PersonDep
) -> Response:
    """Sign the person out in every browser, this one too."""
    people.sign_out_everywhere(session, person.id, by=person.id)
    answer = RedirectResponse("/sign-in", 303)
    answer.delete_cookie(cookie_of(settings))
    return answer


def _account(
    request: Request,
    session: Session,
    person: Person,
    *,
    status: int = 200,
    words: str = "",
    done: str = "",
) -> Response:
    settings: Settings = request.app.state.settings
    return render(
        request,
        "account.html",
        status,
        person=person,
        rights=people.rights_of(session, person.id),
        sessions=people.sessions_of(session, person.id, settings.now()),
        measures=list(Measures),
        languages=languages_by_code(),
        words=words,
        done=done,
        shortest=SHORTEST,
    )


def _check_same(password: str, again: str) -> None:
    if password != again:
        raise InvalidValue(_("The two passwords are not the same: type the same one twice."))


def _welcome(
    request: Request, person: Person | None, words: str, *, status: int = 200, **typed: str
) -> Response:
    shown = {"person_id": "", "name": "", **typed}
    return render(
        request, "welcome.html", status, invited=person, words=words, shortest=SHORTEST, **shown
    )


def _signed_in(settings: Settings, secret: str, address: str) -> Response:
    answer = RedirectResponse(address, 303)
    answer.set_cookie(
        cookie_of(settings),
        secret,
        max_age=int(SESSION_LASTS.total_seconds()),
        httponly=True,
        samesite="lax",
        secure=settings.behind_tls,
    )
    return answer


def _local(address: str) -> str:
    """The address when it is one of our own pages, the first page otherwise."""
    is_ours = address.startswith("/") and not address.startswith(("//", "/\\", "/sign-in"))
    return address if is_ours and address.isprintable() else "/"


def _secret(request: Request) -> str:
    return request.cookies.get(cookie_of(request.app.state.settings), "")


def _device(request: Request) -> str:
    return request.headers.get("user-agent", "")[:200]


def _address(request: Request) -> str:
    return request.client.host if request.client else ""
