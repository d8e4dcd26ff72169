"""The JSON API, one module for each noun."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI

from api.routes import (
    balance,
    day_events,
    days,
    desk,
    due,
    exports,
    feeds,
    follow_ups,
    holds,
    imports,
    jobs,
    learnt,
    loads,
    new_customer,
    notices,
    one_offs,
    people,
    phone,
    plan,
    reach,
    records,
    sites,
    standing,
    street_map,
    technicians,
    upkeep,
    visit_links,
    water,
    what_if,
)
from api.schemas.book import ProblemOut

# What FastAPI itself would describe for a bad call is not what we answer; ours comes here.
PROBLEMS: dict[int | str, dict[str, Any]] = {
    status: {"model": ProblemOut, "description": words, "content": {"application/problem+json": {}}}
    for status, words in (
        (404, "There is no such thing"),
        (409, "Not now: something else must happen first"),
        (422, "The call, or a value in it, cannot be used"),
    )
}


def add_routes(app: FastAPI) -> None:
    """Put the whole API under `/api`."""
    for part in (
        phone,  # first, as a call is held against each in turn and most calls come from phones
        street_map,
        exports,
        imports,
        reach,
        sites,
        technicians,
        holds,
        one_offs,
        people,
        due,
        plan,
        desk,
        new_customer,
        jobs,
        days,
        day_events,
        feeds,
        visit_links,
        notices,
        records,
        follow_ups,
        water,
        learnt,
        upkeep,
        balance,
        standing,
        loads,
        what_if,
    ):
        app.include_router(part.router, prefix="/api", responses=PROBLEMS)
