"""What records teach: minutes planned and actual, paces, drive times; and a truck's load."""

from __future__ import annotations

from itertools import groupby

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from api.deps import DayPath, ReadSession, SettingsDep, UnitsDep
from api.pages.templating import render
from dispatch.actions import book, learnt
from dispatch.actions.paper_day import loaded_day
from dispatch.errors import NoMap
from dispatch.records.carriage import MOST_TOTAL_KG, PACKAGE_KG, PACKAGE_L

router = APIRouter()


@router.get("/minutes")
def show_minutes(
    request: Request, session: ReadSession, settings: SettingsDep, drives: bool = False
) -> HTMLResponse:
    """Each site's minutes planned and actual, paces; drive times, which take seconds, if asked."""
    no_map = False
    try:
        learnt_drives = learnt.learn_drives(session, settings) if drives else None
    except NoMap:
        learnt_drives, no_map = None, True
    rows = learnt.planned_and_actual(session, settings)
    return render(
        request,
        "minutes.html",
        rows=sorted(
            rows,
            key=lambda one: (-abs(one.minutes.learnt_min - one.minutes.agreed_min), one.site.id),
        ),
        found=learnt.learnt_minutes(session, settings),
        drives=learnt_drives,
        no_map=no_map,
        technicians={one.id: one.name for one in book.technicians(session)},
        learnt_on=settings.use_learnt_minutes,
    )


@router.get("/load/{technician_id}/{day}")
def show_load(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    units: UnitsDep,
    technician_id: str,
    day: DayPath,
) -> HTMLResponse:
    """What goes on a technician's truck for a day, as published, or as planned before that."""
    sheet, load = loaded_day(session, settings, technician_id, day, customary=units.customary)
    return render(
        request,
        "load.html",
        sheet=sheet,
        load=load,
        law_kg=MOST_TOTAL_KG,
        package_kg=PACKAGE_KG,
        package_l=PACKAGE_L,
        tubs=[(tub, list(lines)) for tub, lines in groupby(load.products, lambda one: one.tub)],
        sites={site.id: site.name for site in book.sites(session)},
    )
