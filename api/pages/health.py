"""For machines that watch the service: is it alive, is it ready, how is it doing."""

from __future__ import annotations

import ipaddress
import secrets

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from prometheus_client import CONTENT_TYPE_LATEST

from api.deps import JobsDep, SettingsDep
from dispatch.actions.readiness import why_not_ready
from dispatch.errors import NotAllowed
from dispatch.settings import Settings
from dispatch.words import _

router = APIRouter()

FORWARDED = ("forwarded", "x-forwarded-for", "x-real-ip")  # what a proxy in front adds


@router.get("/healthz")
def show_alive() -> JSONResponse:
    """Whether the process answers; says nothing of the database, which a restart would not mend."""
    return JSONResponse({"alive": True})


@router.get("/readyz")
def show_ready(request: Request) -> JSONResponse:
    """Whether calls can be served: the database answers and its tables are up to date."""
    why = why_not_ready(request.app.state.engine)
    return JSONResponse({"ready": not why, "why": why}, 503 if why else 200)


@router.get("/metrics")
def show_metrics(request: Request, settings: SettingsDep, jobs: JobsDep) -> Response:
    """The figures for Prometheus: to this machine, or with the token of the settings."""
    if not _may_read(request, settings):
        raise NotAllowed(
            _(
                "These figures are for this machine, or for whoever sends the token of "
                "DISPATCH_METRICS_TOKEN as 'Authorization: Bearer ...'."
            )
        )
    text = request.app.state.metrics.text(jobs)
    return Response(text, media_type=CONTENT_TYPE_LATEST, headers={"Cache-Control": "no-store"})


def _may_read(request: Request, settings: Settings) -> bool:
    _, _, sent = request.headers.get("authorization", "").partition(" ")
    if settings.metrics_token and secrets.compare_digest(
        sent.strip().encode(), settings.metrics_token.encode()
    ):
        return True
    if any(name in request.headers for name in FORWARDED):
        return False  # it came through a proxy, so it may come from anywhere
    return _is_loopback(request.client.host if request.client else "")


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
