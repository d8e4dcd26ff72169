"""The technician's page for the phone: a shell without data, which the phone keeps.

It is the same for everybody and holds nothing of the company, so that it opens without signal and
without being signed in; what it shows, it asks for by the API.
"""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, HTMLResponse

import api
from api.pages.templating import render

router = APIRouter()

WORKER = Path(api.__file__).parent / "static" / "phone-worker.js"


@router.get("/phone")
@router.get("/phone/{technician_id}")
def show_phone(request: Request, technician_id: str = "") -> HTMLResponse:  # noqa: ARG001
    """The shell; its script reads from the address whose day it is."""
    return render(request, "phone.html")


@router.get("/phone-worker.js")
def show_worker() -> FileResponse:
    """The script that keeps the page on the phone; it must come from the root of the address."""
    headers = {"Cache-Control": "no-cache", "Service-Worker-Allowed": "/phone"}
    return FileResponse(WORKER, media_type="text/javascript", headers=headers)
