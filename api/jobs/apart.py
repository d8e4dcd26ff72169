"""Work of a job in a process of its own, which steps back for the pages.

A search keeps Python busy, and every page would wait for it; here it has its own Python and gives
way when the machine is busy. The processes are forked from one that has the compiled search
loaded, so that they begin at once.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import traceback
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import partial
from multiprocessing.connection import Connection
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess
from typing import Any

from sqlalchemy import Engine

from api.jobs.job import JobState, Tell, Told
from dispatch.errors import DispatchError
from dispatch.planning.progress import ShouldStop
from dispatch.settings import Settings
from dispatch.store.db import open_engine
from dispatch.store.job_reports import Claim, DoneBefore, claim_outcome
from dispatch.words import reading_in

Deed = Callable[[Engine, Settings, Mapping[str, Any], Tell, ShouldStop, Claim], object]

LOOK_S = 0.1  # seconds between two looks at whether to stop
STOPPING_S = 30  # seconds work gets to end in good order once it was told to stop
ENDING_S = 2  # seconds a process gets to end by itself
PRELOADED = ["dispatch.planning.ready", "dispatch.actions.plan_week"]


def make_ready() -> None:
    """Start the process that the others are forked from, unless it is there; takes seconds."""
    if "forkserver" in multiprocessing.get_all_start_methods():
        from multiprocessing.forkserver import ensure_running

        _context()
        ensure_running()


def do_apart(
    deed: Deed,
    settings: Settings,
    job_id: str,
    request: Mapping[str, Any],
    tell: Tell,
    should_stop: ShouldStop,
) -> JobState:
    """Do a deed in a process of its own; when this process is killed, the other one ends.

    Raises
    ------
    DispatchError, DoneBefore
        As the deed.
    RuntimeError
        With its traceback, when the deed broke in a way that nobody foresaw, or its process was
        ended from outside.
    """
    context = _context()
    ours, theirs = context.Pipe()
    process = context.Process(  # type: ignore[attr-defined]
        target=_do, args=(deed, settings, job_id, dict(request), theirs), daemon=True
    )
    process.start()
    theirs.close()
    try:
        _follow(ours, tell, should_stop)
    except EOFError:
        process.join()
        raise RuntimeError(f"the process ended with exit code {process.exitcode}") from None
    finally:
        ours.close()
        _end(process)
    return JobState.STOPPED if should_stop() else JobState.DONE


def _context() -> BaseContext:
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(PRELOADED)
    return context


def _follow(pipe: Connection, tell: Tell, should_stop: ShouldStop) -> None:
    """Pass on what the process says until it is done; tell it when to stop."""
    left_s = float("inf")
    while left_s > 0:
        if left_s == float("inf") and should_stop():
            left_s = STOPPING_S
            with suppress(OSError):
                pipe.send("stop")
        if not pipe.poll(LOOK_S):
            left_s -= LOOK_S
            continue
        word, said = pipe.recv()
        if word == "told":
            tell(said)
        elif word == "refused":
            raise said
        elif word == "broke":
            raise RuntimeError(said)
        else:
            return
    raise RuntimeError(f"the work did not stop within {STOPPING_S} s")


def _do(
    deed: Deed, settings: Settings, job_id: str, request: Mapping[str, Any], pipe: Connection
) -> None:
    """What the other process does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is meant for the service, which tells us
    os.nice(settings.job_niceness)
    told_to_stop = False

    def should_stop() -> bool:
        nonlocal told_to_stop
        if pipe.poll():
            try:
                pipe.recv()
            except EOFError:
                os._exit(1)  # the service was killed; whoever takes the job over begins anew
            told_to_stop = True
        return told_to_stop

    def claim(session: Any) -> None:
        claim_outcome(session, job_id, JobState.STOPPED if told_to_stop else JobState.DONE)

    say = partial(_say, pipe)
    engine = open_engine(settings)
    try:
        with reading_in(settings.language):
            deed(engine, settings, request, lambda told: say("told", told), should_stop, claim)
    except (DispatchError, DoneBefore) as error:
        say("refused", error)
    except Exception:
        say("broke", traceback.format_exc())
    else:
        say("done", Told())
    finally:
        engine.dispose()


def _say(pipe: Connection, word: str, said: object) -> None:
    with suppress(BrokenPipeError):  # the service was killed; the next question ends us
        pipe.send((word, said))


def _end(process: BaseProcess) -> None:
    process.join(ENDING_S)
    if process.is_alive():
        process.kill()
        process.join()
