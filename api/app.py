"""The web service: JSON under `/api`, pages everywhere else."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache, partial
from pathlib import Path

from fastapi import Depends, FastAPI
from fastapi.concurrency import run_in_threadpool
from fastapi.staticfiles import StaticFiles
from starlette.routing import BaseRoute

import api
from api.callers import Recognise, check_rights
from api.compression import Compression
from api.errors import add_error_handlers
from api.given_out import LinkBrake
from api.jobs.queue import Jobs
from api.known_routes import rules_of
from api.languages import Languages
from api.logs import open_log
from api.metrics import Metrics
from api.pages import (
    balance,
    board,
    day,
    desk,
    due,
    exports,
    health,
    imports,
    learnt,
    links,
    loads,
    new_customer,
    notices,
    one_offs,
    people,
    phone,
    records,
    sign_in,
    site,
    sites,
    standing,
    street_map,
    technicians,
    upkeep,
    water,
    week,
    what_if,
)
from api.routes import add_routes
from api.security import SecurityHeaders
from api.throttle import Throttle
from api.turnstile import PLACES, take_place
from api.watch import Watch
from dispatch.errors import SettingsError
from dispatch.settings import Settings
from dispatch.store.db import make_engine
from dispatch.store.directory import open_directory
from dispatch.words import _

STATIC = Path(api.__file__).parent / "static"


def create_app(settings: Settings) -> FastAPI:
    """Make the service over the database, the street map and the jobs that `settings` name.

    Raises
    ------
    SettingsError
        When the database cannot be opened, or the pages' scripts and styles have not been built.
    """
    if not (STATIC / "week.js").is_file():
        raise SettingsError(
            _(
                "The scripts and styles of the pages are missing, so this copy was never "
                "installed: run 'pip install -e .' in its folder."
            )
        )
    open_log(settings)
    engine = make_engine(settings)
    directory = open_directory(settings, engine)
    jobs = Jobs(settings, engine)

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        await run_in_threadpool(partial(jobs.open, works=settings.service_works))
        yield
        await run_in_threadpool(jobs.close)
        engine.dispose()
        directory.dispose()

    app = FastAPI(
        title="Pool dispatch",
        version="1",
        summary="Weeks of pool visits planned on a real street map.",
        openapi_url="/api/openapi.json",
        docs_url=None,  # the library's own page loads its scripts from elsewhere
        redoc_url=None,
        lifespan=lifespan,
        routes=[*_routes()],
    )
    app.state.throttle, app.state.metrics = Throttle(directory), Metrics()
    app.state.link_brake, app.state.places = LinkBrake(directory), asyncio.Semaphore(PLACES)
    app.state.settings, app.state.engine, app.state.jobs = settings, engine, jobs
    app.state.directory = directory
    app.add_middleware(Compression, minimum_size=1000)
    app.add_middleware(Recognise, engine=engine, directory=directory, settings=settings)
    app.add_middleware(SecurityHeaders)
    trusts = bool(settings.trusted_proxies)
    app.add_middleware(Watch, metrics=app.state.metrics, trusts_numbers=trusts)
    app.add_middleware(Languages, usual=settings.language)
    add_error_handlers(app)
    app.state.rules = rules_of(app)
    return app


@cache
def _routes() -> tuple[BaseRoute, ...]:
    """The routes of every service, made once in a process, which takes most of a second.

    They know nothing of settings; a call finds those in the state of the service that it reaches.
    """
    table = FastAPI(
        openapi_url=None,
        dependencies=[Depends(take_place, scope="function"), Depends(check_rights)],
    )
    add_routes(table)
    for page in (
        week,
        desk,
        exports,
        imports,
        new_customer,
        board,  # before the day sheets, whose addresses are less strict
        notices,
        day,
        loads,
        due,
        street_map,
        sites,
        technicians,
        one_offs,
        records,
        site,
        learnt,
        links,
        water,
        upkeep,
        sign_in,
        people,
        standing,
        what_if,
        balance,
        phone,
        health,
    ):
        table.include_router(page.router, include_in_schema=False)
    table.mount("/static", StaticFiles(directory=STATIC), name="static")
    return tuple(table.routes)
