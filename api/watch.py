"""The layer around all others but the language: numbers and times calls, tells database faults.

The number stands in the log, in the answer (`X-Request-ID`) and in every line that is logged on
the way, so that what somebody saw can be found.
"""

from __future__ import annotations

import re
import time
import uuid
from collections.abc import Callable

import structlog
from anyio import BrokenResourceError
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.database_errors import told_of
from api.errors import problem
from api.headers import SECURITY_HEADERS
from api.metrics import Metrics

log = structlog.get_logger(__name__)

GIVEN_NUMBER = re.compile(r"[A-Za-z0-9-]{8,64}")  # what a proxy in front may have called it
SLOW_S = 1.0  # calls slower than this are logged though all went well
UNKNOWN = "unknown"  # what no route answers to


class Watch:
    """ASGI layer around all others."""

    def __init__(self, app: ASGIApp, metrics: Metrics, *, trusts_numbers: bool) -> None:
        self.app, self.metrics, self.trusts_numbers = app, metrics, trusts_numbers

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the call on and note how it went."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        number = self._number(scope)
        structlog.contextvars.clear_contextvars()
        structlog.contextvars.bind_contextvars(request=number)
        began, status = time.perf_counter(), 0

        async def send_numbered(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                MutableHeaders(scope=message)["X-Request-ID"] = number
            await send(message)

        try:
            await self._answered(scope, receive, send_numbered, lambda: status != 0)
        finally:
            self._note(scope, status, time.perf_counter() - began)

    async def _answered(
        self, scope: Scope, receive: Receive, send: Send, has_begun: Callable[[], bool]
    ) -> None:
        """Answer in words when a layer around the routes met a failing database."""
        try:
            await self.app(scope, receive, send)
        except Exception as error:
            if has_begun() and _has_hung_up(error):
                return
            told = told_of(error)
            if told is None or has_begun():
                raise
            answer = problem(Request(scope), told.status, told.code, told.detail)
            answer.headers.update(SECURITY_HEADERS)
            await answer(scope, receive, send)

    def _number(self, scope: Scope) -> str:
        given = Headers(scope=scope).get("x-request-id", "")
        is_good = self.trusts_numbers and GIVEN_NUMBER.fullmatch(given)
        return given if is_good else uuid.uuid4().hex

    def _note(self, scope: Scope, status: int, seconds: float) -> None:
        route = getattr(scope.get("route"), "path", UNKNOWN)
        self.metrics.count_call(scope["method"], route, status or 500, seconds)
        is_told = status >= 500 or status == 0 or seconds > SLOW_S
        write = log.warning if is_told else log.info
        write(
            "call",
            method=scope["method"],
            route=route,
            status=status,
            ms=round(1000 * seconds, 1),
        )


def _has_hung_up(error: Exception) -> bool:
    """Whether the reader of a stream went away while an event was on its way, and that is all."""
    return isinstance(error, ExceptionGroup) and error.split(BrokenResourceError)[1] is None
