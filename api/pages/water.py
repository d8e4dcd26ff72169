"""Ranges of pool water with their sources, and the company's own targets."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import ReadSession, SettingsDep, WriteSession
from api.pages.templating import render
from dispatch.actions import water
from dispatch.actions.versions import Thing, version
from dispatch.intake.parse import parse_number
from dispatch.readings import LIMITS, ReadingKind
from dispatch.water.answer import GENERAL_CAUTION
from dispatch.water.ranges import DEFAULT_TARGETS, PUBLISHED
from dispatch.words import _

router = APIRouter()
Entered = Annotated[str, Form()]


@router.get("/water")
def show_water(request: Request, session: ReadSession, changed: str | None = None) -> HTMLResponse:
    """The targets in use and the published ranges."""
    return render(
        request,
        "water.html",
        targets=water.targets(session),
        delivered=DEFAULT_TARGETS,
        published=PUBLISHED,
        limits=LIMITS,
        caution=_(GENERAL_CAUTION),
        changed=changed,
        versions={
            one.kind: version(session, Thing.WATER_TARGET, {"kind": one.kind})
            for one in water.targets(session)
        },
    )


@router.post("/water/targets/{kind}")
def set_target(
    session: WriteSession,
    settings: SettingsDep,
    kind: ReadingKind,
    by: Entered = "",
    least: Entered = "",
    ideal_low: Entered = "",
    ideal_high: Entered = "",
    most: Entered = "",
    reset: Entered = "",
) -> RedirectResponse:
    """Set the company's own range of a reading, or go back to the delivered one."""
    if reset:
        water.reset_target(session, kind)
    else:
        low, ideal, high, top = (
            parse_number(text) if text.strip() else None
            for text in (least, ideal_low, ideal_high, most)
        )
        water.set_target(session, settings, kind, (low, ideal, high, top), by=by)
    return RedirectResponse(f"/water?changed={kind}", 303)
