"""A layer around the service that sends text compressed (RFC 9110, section 8.4.1)."""

from __future__ import annotations

from starlette.middleware.gzip import GZipMiddleware
from starlette.types import Receive, Scope, Send

WHOLE_ONLY = (
    "/api/map/basemap.pmtiles"  # read in byte ranges, which count the bytes as they lie on disk
)


class Compression(GZipMiddleware):
    """Compresses everything but the street map and event streams."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the call on, compressed or not."""
        if scope["type"] == "http" and scope["path"].startswith(WHOLE_ONLY):
            await self.app(scope, receive, send)
        else:
            await super().__call__(scope, receive, send)
