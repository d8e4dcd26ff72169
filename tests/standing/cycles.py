"""Small typical cycles, written down in a line or two."""

from __future__ import annotations

from collections.abc import Sequence

from dispatch.planning.problem import Problem
from dispatch.standing.typical import Typical
from dispatch.standing.values import Habit
from tests.planning.weeks import WEEK


def cycle(
    problem: Problem,
    habits: Sequence[tuple[str, int] | None],
    *,
    every: Sequence[int] = (),
    phases: Sequence[int] = (),
) -> Typical:
    """A cycle in which each demand is used to a technician and a weekday, or to nobody."""
    count = len(problem.demands)
    return Typical(
        first=WEEK,
        problem=problem,
        every=tuple(every) or (1,) * count,
        phases=tuple(phases) or (0,) * count,
        habits=tuple(
            Habit(None, frozenset()) if one is None else Habit(one[0], frozenset({one[1]}))
            for one in habits
        ),
        left_out=(),
    )
