"""Long reckonings that change no plan, as jobs: the balance of a week, standing routes, what if."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from sqlalchemy import Engine

from api.jobs.apart import do_apart
from api.jobs.compiling import READING, SearchCompiler
from api.jobs.job import JobState, StudyJob, Tell, Told
from dispatch.actions import balance, standing, what_if
from dispatch.clock import IsoWeek
from dispatch.errors import Cancelled
from dispatch.planning.progress import Progress, Report, ShouldStop
from dispatch.settings import Settings
from dispatch.store.job_reports import Claim
from dispatch.words import N_, _

Reckon = Callable[[Engine, Settings, str, Mapping[str, Any], Report, ShouldStop], object]


def _balance(
    engine: Engine,
    settings: Settings,
    subject: str,
    _wish: Mapping[str, Any],
    report: Report,
    should_stop: ShouldStop,
) -> object:
    return balance.reckon_balance(
        engine,
        settings,
        IsoWeek.parse(subject),
        today=settings.today(),
        progress=report,
        should_stop=should_stop,
    )


def _standing(name: str) -> Reckon:
    def reckon(
        engine: Engine,
        settings: Settings,
        _subject: str,
        wish: Mapping[str, Any],
        report: Report,
        should_stop: ShouldStop,
    ) -> object:
        return standing.reckon_standing(
            engine,
            settings,
            name,
            today=settings.today(),
            most=int(wish.get("most", 20)),
            progress=report,
            should_stop=should_stop,
        )

    return reckon


def _what_if(
    engine: Engine,
    settings: Settings,
    _subject: str,
    wish: Mapping[str, Any],
    report: Report,
    should_stop: ShouldStop,
) -> object:
    return what_if.reckon_what_if(
        engine,
        settings,
        wish,
        today=settings.today(),
        progress=report,
        should_stop=should_stop,
    )


STUDIES: dict[str, Reckon] = {
    what_if.STUDY: _what_if,
    balance.STUDY: _balance,
    **{name: _standing(name) for name in standing.STUDIES},
}


class Studying:
    """Reckons studies; one that is stopped keeps what it has found so far."""

    kind = StudyJob.kind
    broken = N_(
        "Something unexpected went wrong in this reckoning; no plan was touched. The log "
        "of the service says why."
    )

    def __init__(self, settings: Settings, compiler: SearchCompiler) -> None:
        self._settings = settings
        self._compiler = compiler

    def run(
        self, job_id: str, request: Mapping[str, Any], tell: Tell, should_stop: ShouldStop
    ) -> JobState:
        """Reckon the study and keep it; raises as the action behind it does."""
        if not self._compiler.wait(tell, should_stop):
            raise Cancelled(_("It was stopped before it began; nothing was reckoned."))
        tell(Told(_(READING)))
        return do_apart(study, self._settings, job_id, request, tell, should_stop)

    def clear(self, request: Mapping[str, Any]) -> None:
        """Nothing is left behind."""

    def as_job(self, request: Mapping[str, Any], **standing: Any) -> StudyJob:
        """The job with its name and subject."""
        return StudyJob(name=request["name"], subject=request["subject"], **standing)


def study(
    engine: Engine,
    settings: Settings,
    request: Mapping[str, Any],
    tell: Tell,
    should_stop: ShouldStop,
    _claim: Claim,
) -> None:
    """Reckon the study that is asked for; doing it twice gives the same."""

    def note(progress: Progress) -> None:
        if request["name"] == balance.STUDY:
            tell(Told(progress=progress))
        else:
            share = progress.iteration / max(1, progress.iterations)
            tell(Told(_("{share:.0%} done").format(share=share)))

    reckon = STUDIES[request["name"]]
    reckon(engine, settings, request["subject"], request["wish"], note, should_stop)
