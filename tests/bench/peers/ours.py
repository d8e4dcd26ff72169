"""The planner, given as many rounds as fit into the CPU seconds."""

from __future__ import annotations

import time

from dispatch.planning.problem import Problem
from dispatch.planning.search import Assignment, search
from tests.bench.budget import rounds_in


def solve(problem: Problem, seconds: float, seed: int) -> Assignment:
    """The best assignment after about so many CPU seconds.

    The measuring of the rate is taken off them: no other engine has more.
    """
    begin = time.process_time()
    rounds = rounds_in(problem, seconds, seed)
    left = 1.0 - (time.process_time() - begin) / seconds
    return search(problem, seed=seed, iterations=max(0, int(rounds * left)))
