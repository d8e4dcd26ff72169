"""How many rounds of the search fit into some CPU seconds on this machine."""

from __future__ import annotations

import time

from dispatch.planning.problem import Problem
from dispatch.planning.search import search

PROBE_S = 0.5  # CPU seconds in which the rate of rounds is measured, at least
PROBE_SHARE = 0.05  # and this share of all: a short search is not as fast as a long one


def rounds_in(problem: Problem, seconds: float, seed: int = 1) -> int:
    """Rounds that take about so many CPU seconds together with the first plan.

    Measuring their rate takes time of its own, which is no part of any search: in a large week its
    first plans alone would use up the seconds. The clock only sets their number beforehand; it
    never steers the search itself.
    """
    first_s = _cpu_s(problem, seed, 0)
    rounds = 250
    while True:
        used = _cpu_s(problem, seed, rounds) - first_s
        if used > max(PROBE_S, PROBE_SHARE * seconds):
            break
        rounds *= 2
    return max(0, int(rounds / used * (seconds - first_s)))


def _cpu_s(problem: Problem, seed: int, rounds: int) -> float:
    begin = time.process_time()
    search(problem, seed=seed, iterations=rounds)
    return time.process_time() - begin
