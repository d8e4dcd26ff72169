"""Building the street map in a process of its own.

A large extract takes gigabytes, which go back to the machine when the process ends; it keeps
Python busy, which would make the pages wait; and where memory runs out, the machine ends this
process and the service is still there to say so.
"""

from __future__ import annotations

import multiprocessing
import signal
import sys
import time
import traceback
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

from dispatch.actions.maps import build_map
from dispatch.errors import Cancelled, DispatchError, MapError
from dispatch.settings import Settings
from dispatch.words import _, reading_in

STOPPING_S = 5  # seconds a build gets to stop by itself; less than the service gets to close
ENDING_S = 2  # seconds a process gets to clear up after it was told to end
LOOK_S = 0.1  # seconds between two looks at whether to stop


def build_apart(
    settings: Settings,
    file: Path,
    progress: Callable[[str], None],
    should_stop: Callable[[], bool],
) -> None:
    """Build the street map as the action `build_map` does, in a process of its own.

    When this process is killed, the other one notices and stops.

    Raises
    ------
    UnreadableMap, NoStreets, MapError, Cancelled
        As `build_map`; MapError also when the process was ended from outside.
    RuntimeError
        With its traceback, when the build broke in a way that nobody foresaw.
    """
    spawning = multiprocessing.get_context("spawn")
    ours, theirs = spawning.Pipe()
    process = spawning.Process(target=_build, args=(settings, file, theirs), daemon=True)
    process.start()
    theirs.close()
    try:
        _follow(ours, progress, should_stop)
    except EOFError:
        process.join()
        raise _ended_early(file, process.exitcode or 0) from None
    finally:
        ours.close()
        _end(process)


def _follow(
    pipe: Connection, progress: Callable[[str], None], should_stop: Callable[[], bool]
) -> None:
    """Pass on what the process says until it is done; tell it when to stop."""
    give_up_at = float("inf")
    while time.monotonic() < give_up_at:
        if give_up_at == float("inf") and should_stop():
            give_up_at = time.monotonic() + STOPPING_S
            with suppress(OSError):
                pipe.send("stop")
        if not pipe.poll(LOOK_S):
            continue
        word, said = pipe.recv()
        if word == "line":
            progress(said)
        elif word == "refused":
            raise said
        elif word == "broke":
            raise RuntimeError(said)
        else:
            return
    raise Cancelled(_("Building the street map was stopped; the map that was there stays."))


def _build(settings: Settings, file: Path, pipe: Connection) -> None:
    """What the other process does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is meant for the service, which tells us
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # and leave no half-written files

    def say(word: str, said: object = None) -> None:
        with suppress(BrokenPipeError):  # the service was killed; the next question stops us
            pipe.send((word, said))

    try:
        # whatever comes through the pipe means stop, and so does its end
        with reading_in(settings.language):
            build_map(settings, file, lambda line: say("line", line), pipe.poll)
    except DispatchError as error:
        say("refused", error)
    except Exception:
        say("broke", traceback.format_exc())
    else:
        say("done")


def _end(process: BaseProcess) -> None:
    process.join(ENDING_S)
    if process.is_alive():
        process.terminate()
        process.join(ENDING_S)
    if process.is_alive():
        process.kill()
        process.join()


def _ended_early(file: Path, code: int) -> MapError:
    """The error of a process that ended without a word; a negative `code` is a signal."""
    if code < 0:
        return MapError(
            _(
                "The building of {file} was ended from outside (signal {name}); the map that "
                "was there stays. Most likely memory ran out: cut the extract to the area that "
                "you serve."
            ).format(file=file, name=signal.Signals(-code).name)
        )
    return MapError(
        _(
            "The building of {file} broke off (exit code {code}); the map that was there "
            "stays. What the service writes to its error stream says why."
        ).format(file=file, code=code)
    )
