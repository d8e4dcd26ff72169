"""Compiling the planning search in the background, so that the first plan need not wait for it.

The compiled code lies in the user's cache, so a machine does this once (see `dispatch.compiled`).
"""

from __future__ import annotations

import subprocess
import sys
import threading
import time

import structlog

from api.jobs.apart import make_ready
from api.jobs.job import Tell, Told
from dispatch.planning.progress import ShouldStop
from dispatch.words import N_, _

log = structlog.get_logger(__name__)

COMMAND = (sys.executable, "-m", "dispatch.planning.warm")
COMPILING = N_("Compiling the search, once on this machine")
READING = N_("Reading streets and customers")
LOOK_S = 0.1  # seconds between two looks at the compiler
ENDING_S = 5  # seconds the compiler gets to end by itself


class SearchCompiler:
    """Compiles the search in a process of its own, unless this machine has it compiled already."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._done = threading.Event()
        self._ended = False

    def begin(self) -> None:
        """Look whether there is something to compile, and do so; returns at once."""
        threading.Thread(target=self._compile, name=_("search compiler"), daemon=True).start()

    def end(self) -> None:
        """End the process, whether it has finished or not."""
        with self._lock:
            self._ended = True
            process = self._process
        if process is None:
            return
        process.terminate()
        try:
            process.wait(ENDING_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    @property
    def is_compiling(self) -> bool:
        """Whether the search is being compiled right now."""
        return self._process is not None and not self._done.is_set()

    @property
    def is_done(self) -> bool:
        """Whether there is nothing to wait for."""
        return self._done.is_set()

    def wait(self, tell: Tell, should_stop: ShouldStop) -> bool:
        """Let the compiler finish; compiling the same beside it would take twice as long.

        False when `should_stop` said yes meanwhile.
        """
        while not self.is_done:
            if should_stop():
                return False
            tell(Told(_(COMPILING) if self.is_compiling else _(READING)))
            time.sleep(LOOK_S)
        return True

    def _compile(self) -> None:
        try:
            from dispatch.planning.warm import is_compiled  # imports for a second or two

            if is_compiled():
                return
            with self._lock:
                if self._ended:
                    return
                # a session of its own: Ctrl-C is meant for the service, which ends this one
                self._process = subprocess.Popen(  # noqa: S603 - our own words
                    COMMAND, stderr=subprocess.PIPE, start_new_session=True
                )
            _, said = self._process.communicate()
            if self._process.returncode != 0 and not self._ended:
                log.warning("the search was not compiled ahead", said=said.decode()[-2000:])
        except Exception:
            log.exception("the search was not compiled ahead")  # planning compiles it itself
        finally:
            self._done.set()
        if not self._ended:
            make_ready()
