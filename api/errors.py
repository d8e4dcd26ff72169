"""Errors as HTTP answers: the only place that knows status numbers of domain errors.

Calls under `/api` are answered with a problem document (RFC 9457): `title`, `detail` (the full
sentence), `status`, and as extensions `code` (stable, see `dispatch.errors`), `command` (what
helps, typed on the machine of the service) and `problems` (the bad rows of an import). Pages are
answered with a page that says the same.
"""

from __future__ import annotations

from urllib.parse import quote, urlsplit, urlunsplit

import structlog
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from starlette.exceptions import HTTPException

from api.database_errors import told_of
from api.headers import SECURITY_HEADERS
from api.pages.templating import render
from api.versions import CHANGED
from dispatch.errors import (
    ChangedMeanwhile,
    DispatchError,
    ImportRejected,
    NotSignedIn,
    TooManyTries,
)
from dispatch.intake.table import RowProblem
from dispatch.words import N_, _

log = structlog.get_logger(__name__)

STATUS = {
    "dispatch-error": 500,
    "invalid-value": 422,
    "import-rejected": 422,
    "map-error": 500,
    "unreadable-map": 422,
    "no-streets": 422,
    "no-map": 409,
    "off-street": 422,
    "address-not-found": 422,
    "not-found": 404,
    "week-in-past": 409,
    "nothing-to-plan": 409,
    "in-use": 409,
    "inputs-changed": 409,
    "not-ready": 409,
    "day-moved": 409,
    "record-conflict": 409,
    "cancelled": 409,
    "not-signed-in": 401,
    "not-allowed": 403,
    "wrong-sign-in": 401,
    "too-many-tries": 429,
    "link-over": 410,
    "changed-meanwhile": 412,
    "version-missing": 428,  # RFC 6585, section 3
    "gate-key-lost": 500,
    "backup-error": 500,
    "disk-full": 507,
    "mail-error": 502,
    "bad-setting": 500,
}

TITLES = {
    "invalid-value": N_("A value cannot be used"),
    "import-rejected": N_("The table was not taken in"),
    "no-map": N_("There is no street map yet"),
    "not-found": N_("There is nothing here"),
    "week-in-past": N_("The week is over"),
    "nothing-to-plan": N_("There is nothing to plan"),
    "in-use": N_("It is still needed"),
    "not-ready": N_("The week is not in order"),
    "inputs-changed": N_("The data changed meanwhile"),
    "day-moved": N_("The day has changed meanwhile"),
    "record-conflict": N_("The record was kept already"),
    "not-signed-in": N_("Nobody is signed in"),
    "not-allowed": N_("This is not yours to see or do"),
    "wrong-sign-in": N_("That did not fit"),
    "too-many-tries": N_("Too many tries"),
    "link-over": N_("The link is over"),
    "changed-meanwhile": N_("Somebody else was faster"),
    "gate-key-lost": N_("The key of the gate codes is missing"),
    "bad-request": N_("The call cannot be read"),
    "method-not-allowed": N_("This cannot be done here"),
    "too-large": N_("The file is too large"),
    "cross-site": N_("The call came from another site"),
    "disk-full": N_("There is no room left"),
    "database-busy": N_("Too busy right now"),
    "internal-error": N_("Something broke on our side"),
}

PROBLEM_JSON = "application/problem+json"
DEFAULT_TITLE = N_("This did not work")
HTTP_CODES = {404: "not-found", 405: "method-not-allowed", 413: "too-large", 403: "cross-site"}


def add_error_handlers(app: FastAPI) -> None:
    """Let `app` answer every error in the form that its caller reads."""
    app.add_exception_handler(DispatchError, _domain_error)
    app.add_exception_handler(RequestValidationError, _unreadable_call)
    app.add_exception_handler(HTTPException, _http_error)
    for kind in (DBAPIError, PoolTimeout, OSError, OverflowError):
        app.add_exception_handler(kind, _database_error)
    app.add_exception_handler(Exception, _unexpected)


def problem(
    request: Request,
    status: int,
    code: str,
    detail: str,
    problems: tuple[RowProblem, ...] = (),
    command: str = "",
) -> Response:
    """A problem document for callers of the API, a page for people."""
    title = _(TITLES.get(code, DEFAULT_TITLE))
    if not request.url.path.startswith("/api/"):
        return render(
            request,
            "problem.html",
            status=status,
            number=status,
            title=title,
            detail=detail,
            code=code,
            problems=problems,
            back=_form_of(request),
        )
    body: dict[str, object] = {
        "type": "about:blank",
        "title": title,
        "status": status,
        "detail": detail,
        "code": code,
    }
    if command:
        body["command"] = command
    if problems:
        body["problems"] = [
            {
                "line": row.line,
                "column": row.column,
                "value": row.value,
                "mend": row.mend,
                "sentence": row.sentence,
            }
            for row in problems
        ]
    headers = {"WWW-Authenticate": "Bearer"} if status == 401 else None  # RFC 9110, section 11.6.1
    return JSONResponse(body, status_code=status, media_type=PROBLEM_JSON, headers=headers)


def headers_of(error: Exception) -> dict[str, str]:
    """When a caller who was too fast may try again (RFC 6585, section 4)."""
    return {"Retry-After": str(error.wait_s)} if isinstance(error, TooManyTries) else {}


def _form_of(request: Request) -> str:
    """The page of this service that a form was sent from; empty for what was no form."""
    before = urlsplit(request.headers.get("referer", ""))
    if request.method != "POST" or not before.path:
        return ""
    return urlunsplit(("", "", f"/{before.path.lstrip('/')}", before.query, ""))


async def _domain_error(request: Request, error: Exception) -> Response:
    if isinstance(error, ChangedMeanwhile) and not request.url.path.startswith("/api/"):
        return await _conflict(request, error)
    if isinstance(error, NotSignedIn) and _is_page_asked_for(request):
        asked = urlunsplit(("", "", request.url.path, request.url.query, ""))
        return RedirectResponse(f"/sign-in?next={quote(asked)}", 303)
    code = error.code if isinstance(error, DispatchError) else "dispatch-error"
    rows = error.problems if isinstance(error, ImportRejected) else ()
    bad_rows = tuple(row for row in rows if isinstance(row, RowProblem))
    command = error.command if isinstance(error, DispatchError) else ""
    answer = problem(request, STATUS[code], code, str(error), bad_rows, command)
    answer.headers.update(headers_of(error))
    return answer


async def _conflict(request: Request, error: ChangedMeanwhile) -> Response:
    """What was typed, kept to be sent again or dropped, beside who was faster."""
    form = await request.form()  # read before, and kept
    may_insist = getattr(request.state, "deed", "") in CHANGED
    typed = [(k, v) for k, v in form.multi_items() if isinstance(v, str) and k != "version"]
    back = _form_of(request) or "/"
    return render(
        request,
        "conflict.html",
        STATUS[error.code],
        detail=str(error),
        typed=typed if may_insist else [],
        may_insist=may_insist,
        has_file=any(not isinstance(value, str) for value in form.values()),
        action=request.url.path,
        back=back,
    )


def _is_page_asked_for(request: Request) -> bool:
    return request.method == "GET" and not request.url.path.startswith("/api/")


async def _unreadable_call(request: Request, error: Exception) -> Response:
    faults = error.errors() if isinstance(error, RequestValidationError) else []
    told = "; ".join(f"{'.'.join(str(part) for part in f['loc'])}: {f['msg']}" for f in faults)
    return problem(
        request, 422, "bad-request", _("The call cannot be read: {told}.").format(told=told)
    )


async def _http_error(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    detail = str(error.detail) if isinstance(error, HTTPException) else ""
    if status == 404 and detail == "Not Found":
        detail = _("There is no page '{path}'. Check the address.").format(path=request.url.path)
    if status == 405:
        detail = _("'{path}' does not answer to {method}.").format(
            path=request.url.path, method=request.method
        )
    return problem(request, status, HTTP_CODES.get(status, "bad-request"), detail)


async def _database_error(request: Request, error: Exception) -> Response:
    told = told_of(error)
    if told is None:
        return await _unexpected(request, error)
    request.app.state.metrics.count_database_error(told.code)
    if told.status >= 500:
        log.error("the database failed a call", path=request.url.path, why=str(error)[:500])
    answer = problem(request, told.status, told.code, told.detail)
    if told.status == 503:
        answer.headers["Retry-After"] = "2"
    return answer


async def _unexpected(request: Request, error: Exception) -> Response:
    log.error("unexpected error", path=request.url.path, exc_info=error)
    answer = problem(
        request,
        500,
        "internal-error",
        _(
            "Something unexpected went wrong and nothing was saved. Try again; if it happens "
            "again, the log of the service says why."
        ),
    )
    answer.headers.update(SECURITY_HEADERS)  # this answer is given outside the security layer
    return answer
