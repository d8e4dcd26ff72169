"""The kinds of work of each branch, made when its first job is looked at."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from sqlalchemy import Engine

from api.jobs.compiling import SearchCompiler
from api.jobs.job import Job, JobKind, JobState, Tell
from api.jobs.levelling import LevellingUpkeep
from api.jobs.map_building import MapBuilding
from api.jobs.planning import Planning
from api.jobs.reports import Reports
from api.jobs.studying import Studying
from dispatch.planning.progress import ShouldStop
from dispatch.settings import Settings
from dispatch.store.db import make_engine


class Work(Protocol):
    """One kind of work; `broken` is what is said when a job breaks as nobody foresaw."""

    kind: JobKind
    broken: str

    def run(
        self, job_id: str, request: Mapping[str, Any], tell: Tell, should_stop: ShouldStop
    ) -> JobState:
        """Do the work; raises the errors of the action behind it."""

    def clear(self, request: Mapping[str, Any]) -> None:
        """Remove what a job that is over leaves behind; twice does no harm."""

    def as_job(self, request: Mapping[str, Any], **standing: Any) -> Job:
        """The job with what only this kind has."""


@dataclass(frozen=True)
class Desk:
    """What is needed to work on the jobs of one branch."""

    works: Mapping[JobKind, Work]
    maps: MapBuilding
    reports: Reports
    engine: Engine


class Desks:
    """The desks of all branches that a process has to do with."""

    def __init__(
        self, settings: Settings, engine: Engine, compiler: SearchCompiler, worker: str
    ) -> None:
        self._settings, self._compiler, self._worker = settings, compiler, worker
        self._lock = threading.Lock()
        self._desks = {settings.branch: self._made(settings, engine)}

    def of(self, branch: str) -> Desk:
        """The desk of a branch; raises SettingsError when its database cannot be opened."""
        with self._lock:
            if branch not in self._desks:
                settings = self._settings.of_branch(branch)
                self._desks[branch] = self._made(settings, make_engine(settings))
            return self._desks[branch]

    def close(self) -> None:
        """Close the databases of the branches that were opened here."""
        for branch, desk in self._desks.items():
            if branch != self._settings.branch:
                desk.engine.dispose()

    def _made(self, settings: Settings, engine: Engine) -> Desk:
        maps = MapBuilding(settings)
        works: tuple[Work, ...] = (
            Planning(settings, self._compiler),
            maps,
            LevellingUpkeep(settings),
            Studying(settings, self._compiler),
        )
        reports = Reports(settings, engine, self._worker)
        return Desk({work.kind: work for work in works}, maps, reports, engine)
