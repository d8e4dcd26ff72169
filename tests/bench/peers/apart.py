"""One engine on one week in a process of its own, with its CPU seconds and memory."""

from __future__ import annotations

import importlib
import multiprocessing
import re
import resource
import signal
import sys
import time
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

from dispatch.planning.problem import Problem
from dispatch.planning.search import Assignment

MODELS = {
    "ours": "tests.bench.peers.ours",
    "PyVRP": "tests.bench.peers.pyvrp_model",
    "OR-Tools": "tests.bench.peers.ortools_model",
    "VROOM": "tests.bench.peers.vroom_model",
}


@dataclass(frozen=True, slots=True)
class Answer:
    """What an engine found, in how many CPU seconds and with how much memory at most."""

    assignment: Assignment
    cpu_s: float
    peak_mb: float


def ask(engine: str, problem: Problem, seconds: float, seed: int) -> Answer:
    """Run an engine; loading and compiling it take no part in its seconds.

    Raises
    ------
    EOFError
        When the process ended without an answer, as when memory ran out.
    """
    spawning = multiprocessing.get_context("spawn")
    ours, theirs = spawning.Pipe()
    words = (engine, problem, seconds, seed, theirs)
    process = spawning.Process(target=_answer, args=words, daemon=True)
    process.start()
    theirs.close()
    try:
        found: Answer = ours.recv()
        return found
    finally:
        process.join()


def _answer(engine: str, problem: Problem, seconds: float, seed: int, pipe: Connection) -> None:
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    if engine == "ours":
        from dispatch.planning.warm import compile_search

        compile_search()
    solve = importlib.import_module(MODELS[engine]).solve
    begin = time.process_time()
    assignment = solve(problem, seconds, seed)
    used = time.process_time() - begin
    pipe.send(Answer(assignment, used, peak_mb()))


def peak_mb() -> float:
    """Most memory that this process has held, in megabytes.

    Linux hands the figure of `getrusage` down from the parent, so its own book is read there.
    """
    status = Path("/proc/self/status")
    if status.exists():
        (held,) = re.findall(r"VmHWM:\s+(\d+) kB", status.read_text())
        return int(held) / 1024
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (2**20 if sys.platform == "darwin" else 2**10)
