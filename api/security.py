"""A layer around the service: security headers, and the refusal of calls from other sites."""

from __future__ import annotations

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.errors import problem
from api.headers import SECURITY_HEADERS
from dispatch.words import _

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})  # RFC 9110, section 9.2.1


class SecurityHeaders:
    """ASGI layer that adds the headers and refuses writing calls that another site started.

    Browsers say in `Sec-Fetch-Site` where a call comes from (W3C Fetch Metadata); a caller that
    sends none is no browser and carries nobody's rights.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the call on, or answer it with 403."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in SECURITY_HEADERS.items():
                    headers[name] = value
            await send(message)

        if _is_foreign_write(scope):
            answer = problem(
                Request(scope),
                403,
                "cross-site",
                _("A page of another site tried to change something here; nothing was done."),
            )
            await answer(scope, receive, send_with_headers)
            return
        await self.app(scope, receive, send_with_headers)


def _is_foreign_write(scope: Scope) -> bool:
    site = Headers(scope=scope).get("sec-fetch-site", "none")
    return scope["method"] not in SAFE_METHODS and site not in {"same-origin", "none"}
