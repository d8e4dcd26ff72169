"""The year's load with its levelling, and the company's table of upkeep."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from api.deps import JobsDep, ReadSession, SettingsDep, UnitsDep, WriteSession
from api.pages.templating import render
from api.pages.year_chart import HEIGHT, year_bars
from dispatch.actions import book, forecasts, level_upkeep, upkeep_table
from dispatch.actions.versions import Thing, version
from dispatch.intake.upkeep_edits import texts_of
from dispatch.upkeep_rules import rule_of

router = APIRouter()

SOONEST = 30  # forecasts shown; the list as CSV has all


@router.get("/year")
def show_year(
    request: Request,
    session: ReadSession,
    settings: SettingsDep,
    jobs: JobsDep,
    job: str | None = None,
) -> HTMLResponse:
    """Each technician's weeks of the coming year, and forecasts of the lives of parts."""
    kept = level_upkeep.levelling(session)
    levels = jobs.level_jobs()
    loads = level_upkeep.by_technician(kept.loads) if kept else {}
    return render(
        request,
        "year.html",
        kept=kept,
        loads=loads,
        bars={technician_id: year_bars(found) for technician_id, found in loads.items()},
        height=HEIGHT,
        technicians={one.id: one.name for one in book.technicians(session)},
        sites={site.id: site.name for site in book.sites(session)},
        soonest=forecasts.forecasts(session, settings.today())[:SOONEST],
        under_way=[one for one in levels if not one.state.is_over],
        ended=next((one for one in levels if one.id == job and one.state.is_over), None),
    )


@router.post("/year")
def level_from_form(jobs: JobsDep, weeks: Annotated[int, Form(ge=1, le=60)]) -> RedirectResponse:
    """Begin to spread upkeep, then show the page again."""
    return RedirectResponse(f"/year?job={jobs.level_upkeep(weeks).id}", 303)


@router.post("/year/stop/{job_id}")
def stop_from_form(jobs: JobsDep, job_id: str) -> RedirectResponse:
    """Stop the spreading; the weeks set before stay."""
    jobs.stop(job_id)
    return RedirectResponse(f"/year?job={job_id}", 303)


@router.get("/upkeep")
def show_kinds(request: Request, session: ReadSession, units: UnitsDep) -> HTMLResponse:
    """The table of upkeep."""
    rules = upkeep_table.kinds(session)
    return render(
        request,
        "upkeep.html",
        rules=rules,
        texts={rule.kind: texts_of(rule, customary=units.customary) for rule in rules},
        changed=upkeep_table.changed(session),
    )


@router.get("/upkeep/{kind}")
def show_kind(request: Request, session: ReadSession, units: UnitsDep, kind: str) -> HTMLResponse:
    """One kind of upkeep with its form."""
    rule = rule_of(kind, upkeep_table.kinds(session))
    return render(
        request,
        "upkeep_kind.html",
        rule=rule,
        texts=texts_of(rule, customary=units.customary),
        version=version(session, Thing.UPKEEP_KIND, {"kind": kind}),
        changed=kind in upkeep_table.changed(session),
    )


@router.post("/upkeep/{kind}/reset")
def reset_from_form(session: WriteSession, kind: str) -> RedirectResponse:
    """Take a kind back to what was delivered."""
    upkeep_table.reset_kind(session, kind)
    return RedirectResponse(f"/upkeep/{kind}", 303)


@router.post("/upkeep/{kind}")
def change_from_form(
    session: WriteSession,
    units: UnitsDep,
    kind: str,
    active: Annotated[str, Form()] = "no",
    earliest: Annotated[str, Form()] = "",
    due: Annotated[str, Form()] = "",
    latest: Annotated[str, Form()] = "",
    run_hours: Annotated[str, Form()] = "",
    threshold: Annotated[str, Form()] = "",
    minutes: Annotated[str, Form()] = "",
    gross_minutes: Annotated[str, Form()] = "",
    crew: Annotated[str, Form()] = "",
    skill: Annotated[str, Form()] = "",
    months: Annotated[str, Form()] = "",
    parts: Annotated[str, Form()] = "",
    filling_kg: Annotated[str, Form()] = "",
    wet_factor: Annotated[str, Form()] = "",
    caution: Annotated[str, Form()] = "",
) -> RedirectResponse:
    """Keep the fields that differ from what is there, in the units of whoever sends them."""
    given = {
        "active": active,
        "earliest": earliest,
        "due": due,
        "latest": latest,
        "run_hours": run_hours,
        "threshold": threshold,
        "minutes": minutes,
        "gross_minutes": gross_minutes,
        "crew": crew,
        "skill": skill,
        "months": months,
        "parts": parts,
        "filling_kg": filling_kg,
        "wet_factor": wet_factor,
        "caution": caution.replace("\r\n", "\n").strip(),
    }
    rule = rule_of(kind, upkeep_table.kinds(session))
    before = texts_of(rule, customary=units.customary)
    texts = {name: text for name, text in given.items() if text.strip() != before[name]}
    if texts:
        upkeep_table.change_kind(session, kind, texts, customary=units.customary)
    return RedirectResponse("/upkeep", 303)
