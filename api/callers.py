"""Who calls: a layer that recognises people, and the check that each route makes of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

import structlog
from fastapi import Request
from fastapi.concurrency import run_in_threadpool
from sqlalchemy import Engine
from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.routing import compile_path
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.errors import problem
from api.pages.units import units_of
from api.rights import RIGHTS
from api.rules import Own, Rule
from api.security import SAFE_METHODS
from api.versions import CHANGED
from dispatch.actions import own, sign_in
from dispatch.actions.audit import note
from dispatch.day.moments import clocks_of
from dispatch.errors import NotAllowed, NotSignedIn
from dispatch.measures import measuring_in
from dispatch.people import Caller, Role
from dispatch.settings import Settings
from dispatch.store.db import transaction
from dispatch.words import _, known_language, reader_language, reading_in, worded

COOKIE = "dispatch_session"  # of an installation without branches; see `cookie_of`
SENT = frozenset({Own.SENT, Own.SENT_OF_SITE, Own.SENT_OF_RECORD})
NAMES_A_TARGET = re.compile(r"(id|.*_id|kind|day|first_day|name)")
PUBLIC_PATHS = tuple(
    (key.split(" ")[0], compile_path(key.split(" ")[1])[0])
    for key, rule in RIGHTS.items()
    if rule.is_public
)
log = structlog.get_logger(__name__)


def cookie_of(settings: Settings) -> str:
    """The cookie's name: one for each branch, because browsers give one to all ports of a host."""
    return f"{COOKIE}_{settings.branch}" if settings.branch else COOKIE


class Recognise:
    """ASGI layer that finds out who calls, and turns nobody's writing calls away unread.

    The person goes by the session cookie or by an API token (`Authorization: Bearer ...`). What a
    recognised person changed is written to the audit log here where the call had no transaction
    of its own to write it in.
    """

    def __init__(self, app: ASGIApp, engine: Engine, directory: Engine, settings: Settings) -> None:
        self.app, self.engine, self.directory = app, engine, directory
        self.settings, self.cookie = settings, cookie_of(settings)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the call on with its caller, or answer it with 401 or 403."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        state = scope.setdefault("state", {})
        state["caller"], state["why_unknown"] = None, ""
        secret = cookie_parser(headers.get("cookie", "")).get(self.cookie, "")
        try:
            state["caller"] = await self._caller(headers, secret)
        except NotSignedIn as error:
            state["why_unknown"] = str(error)
        is_write = scope["method"] not in SAFE_METHODS
        if is_write and (refused := _refusal(scope, headers, state["caller"])):
            await problem(Request(scope), *refused)(scope, receive, send)
            return

        async def send_noted(message: Message) -> None:
            if is_write and message["type"] == "http.response.start" and message["status"] < 400:
                await run_in_threadpool(self._note, Request(scope))
            await send(message)

        units = units_of(Request(scope))
        language = _language(state["caller"])
        here = clocks_of(self.settings.zone)
        with here, reading_in(language), measuring_in(customary=units.customary):
            await self.app(scope, receive, send_noted)

    async def _caller(self, headers: Headers, cookie: str) -> Caller:
        now, people = self.settings.now(), self.directory
        kind, _rest, token = headers.get("authorization", "").partition(" ")
        if kind.lower() == "bearer":
            return await run_in_threadpool(sign_in.caller_of_token, people, token.strip(), now)
        if not cookie:
            raise NotSignedIn(_("Nobody is signed in: sign in first."))
        return await run_in_threadpool(sign_in.caller_of_cookie, people, cookie, now)

    def _note(self, request: Request) -> None:
        if request.state.caller is None or getattr(request.state, "is_noted", False):
            return
        with transaction(self.engine) as session:
            note_call(session, request)


def _language(caller: Caller | None) -> str:
    """What the person reads, where that was said and is there; else as before."""
    wanted = caller.person.language if caller is not None else ""
    return wanted if wanted and known_language(wanted) else reader_language()


def _refusal(scope: Scope, headers: Headers, caller: Caller | None) -> tuple[int, str, str] | None:
    """Why a writing call is turned away before it is read; None when it is not."""
    if caller is None:
        path, method = scope["path"], scope["method"]
        if any(method == m and pattern.match(path) for m, pattern in PUBLIC_PATHS):
            return None
        why = scope["state"]["why_unknown"]
        return 401, NotSignedIn.code, _("{why} Nothing was changed.").format(why=why)
    if caller.scopes is None and not _is_from_here(headers):
        return (
            403,
            "cross-site",
            _(
                "The call does not say that a page of this service made it; nothing was done. "
                "Send an Origin header, or use an API token."
            ),
        )
    return None


def _is_from_here(headers: Headers) -> bool:
    """Whether the browser says that our own page made the call (Fetch Metadata, or Origin)."""
    if "sec-fetch-site" in headers:
        return headers["sec-fetch-site"] in {"same-origin", "none"}
    return urlsplit(headers.get("origin", "")).netloc == headers.get("host", "-")


async def check_rights(request: Request) -> None:
    """Let the call through if the table of rights says so; every route depends on it.

    Raises
    ------
    NotSignedIn
        When the route is not public and nobody is signed in.
    NotAllowed
        When the caller may not do this, or the route has no rule.
    """
    found = request.app.state.rules.get((request.method, request.scope["endpoint"]))
    if found is None:
        log.error("route without a rule in api/rights.py", path=request.url.path)
        raise NotAllowed(_("This page has no rule yet about who may see it, so that nobody may."))
    request.state.deed, rule = found
    if rule.is_public:
        return
    caller = request.state.caller
    if caller is None:
        raise NotSignedIn(request.state.why_unknown)
    _check_caller(caller, rule)
    sent = await _sent(request, wanted=rule.own in SENT or request.state.deed in CHANGED)
    request.state.sent = sent
    request.state.target = _target(request, sent)
    if caller.person.role is Role.TECHNICIAN and rule.own is not None:
        await run_in_threadpool(_check_own, request, caller, rule.own, sent)


def note_call(session: Any, request: Request) -> None:
    """Write the call to the audit log, in the transaction of `session`."""
    caller = request.state.caller
    if caller is None:
        return
    via = f"token {caller.token_id}" if caller.token_id else "page"
    deed = getattr(request.state, "deed", request.method)
    target = getattr(request.state, "target", "")
    note(session, caller.person, request.app.state.settings.now(), deed, target, via)
    request.state.is_noted = True


def _check_caller(caller: Caller, rule: Rule) -> None:
    if caller.person.role not in rule.roles:
        raise NotAllowed(
            _(
                "{name} is signed in as a {role}, who may not see or do this. Ask an owner of "
                "the company."
            ).format(name=caller.person.name, role=worded(caller.person.role))
        )
    if not caller.has(rule.scope):
        wanted = (
            _("has no scope '{scope}'").format(scope=rule.scope)
            if rule.scope
            else _("works for the API alone")
        )
        raise NotAllowed(
            _("The API token {token_id} {wanted}.").format(token_id=caller.token_id, wanted=wanted)
        )


def _check_own(request: Request, caller: Caller, wanted: Own, sent: list[Any]) -> None:
    """Hold a technician to his own; what a call does not name is not his."""
    person, path = caller.person, request.path_params
    today = request.app.state.settings.today()
    with transaction(request.app.state.engine, read_only=True) as session:
        if wanted is Own.ROUTE:
            own.check_own_route(person, path["technician_id"])
        if wanted in {Own.SITE, Own.SENT_OF_SITE}:
            own.check_own_site(session, person, path["site_id"], today)
        if wanted in {Own.RECORD, Own.SENT_OF_RECORD}:
            own.check_own_record(session, person, path["record_id"])
        if wanted is Own.PHOTO:
            own.check_own_photo(session, person, path["photo_id"])
        if wanted in SENT:
            usual = {} if wanted is Own.SENT else {"technician_id": person.technician_id}
            for one in sent or [{}]:
                facts = {**usual, **one} if isinstance(one, Mapping) else usual
                own.check_own_route(person, str(facts.get("technician_id", "")))
                if wanted is Own.SENT or "site_id" in facts:
                    site_id = str(facts.get("site_id", ""))
                    own.check_own_site(session, person, site_id, today)


async def _sent(request: Request, *, wanted: bool) -> list[Any]:
    """What the call sent, form or JSON; nothing where the route reads it piece by piece."""
    if request.scope["route"].body_field is None and not wanted:
        return []
    kind = request.headers.get("content-type", "")
    if kind.startswith(("application/x-www-form-urlencoded", "multipart/form-data")):
        form = await request.form()  # read once, and kept for the route
        return [{name: value for name, value in form.items() if isinstance(value, str)}]
    if "json" not in kind:
        return []
    try:
        content = await request.json()
    except (ValueError, RecursionError):
        return []  # the route says what is wrong with it
    return content if isinstance(content, list) else [content]


def _target(request: Request, sent: list[Any]) -> str:
    """What the call is about, for the audit log: ids and days, never anything that was typed."""
    named = {name: str(value) for name, value in request.path_params.items() if name != "secret"}
    for one in sent[:1]:
        if isinstance(one, Mapping):
            named |= {
                name: str(value)[:60]
                for name, value in one.items()
                if NAMES_A_TARGET.fullmatch(str(name)) and isinstance(value, str | int)
            }
    return ", ".join(f"{name} {value}" for name, value in named.items())
