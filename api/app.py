"""The web service: JSON under `/api`, pages everywhere else."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import FastAPI
from fastapi.concurrency import run_in_threadpool
from fastapi.staticfiles import StaticFiles

import api
from api.compression import Compression
from api.errors import add_error_handlers
from api.jobs.queue import Jobs
from api.logs import open_log
from api.pages import (
    day,
    due,
    learnt,
    loads,
    one_offs,
    records,
    site,
    sites,
    street_map,
    technicians,
    upkeep,
    water,
    week,
)
from api.routes import add_routes
from api.security import SecurityHeaders
from dispatch.errors import SettingsError
from dispatch.settings import Settings
from dispatch.store.db import make_engine

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
            "The scripts and styles of the pages are missing, so this copy was never installed: "
            "run 'pip install -e .' in its folder."
        )
    open_log(settings)
    engine = make_engine(settings)
    jobs = Jobs(settings, engine)

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        await run_in_threadpool(jobs.open)
        yield
        await run_in_threadpool(jobs.close)
        engine.dispose()

    app = FastAPI(
        title="Pool dispatch",
        version="1",
        summary="Weeks of pool visits planned on a real street map.",
        openapi_url="/api/openapi.json",
        docs_url=None,  # the library's own page loads its scripts from elsewhere
        redoc_url=None,
        lifespan=lifespan,
    )
    app.state.settings, app.state.engine, app.state.jobs = settings, engine, jobs
    app.add_middleware(Compression, minimum_size=1000)
    app.add_middleware(SecurityHeaders)
    add_error_handlers(app)
    add_routes(app)
    for page in (
        week,
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
        water,
        upkeep,
    ):
        app.include_router(page.router, include_in_schema=False)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    return app
