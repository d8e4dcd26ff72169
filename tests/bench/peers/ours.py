"""The planner, given as many rounds as fit into the CPU seconds."""

from __future__ import annotations

from dispatch.planning.problem import Problem
from dispatch.planning.search import Assignment, search
from tests.bench.budget import rounds_in


def solve(problem: Problem, seconds: float, seed: int) -> Assignment:
    """The best assignment after about so many CPU seconds, the measuring of the rate included."""
    return search(problem, seed=seed, iterations=rounds_in(problem, seconds, seed))
