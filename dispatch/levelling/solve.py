"""Solving: jobs to weeks by mixed-integer programming, with a bound that is proven.

Each technician's weeks are a program by themselves, because every job has its technician already
(see `dispatch.levelling.sharing`); cost and bound of the whole are the sums. HiGHS (MIT licence)
solves them, with a fixed seed and stopped by the gap, so that the same jobs give the same weeks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor

from dispatch.levelling.choices import Choices, left_out_price
from dispatch.levelling.program import Stop
from dispatch.levelling.programs import Programs, Solved
from dispatch.levelling.values import Choice, Job, Progress, Room

Say = Callable[[Progress], None]

WORKERS = 2  # programs solved at once; HiGHS works outside Python's lock


def solve(
    jobs: Sequence[Job],
    rooms: Sequence[Room],
    choices: Choices,
    say: Say = lambda _progress: None,
    should_stop: Stop = lambda: False,
) -> Solved:
    """Take a choice for each job so that no room and no truck-day overflows, at the least price.

    Raises
    ------
    Cancelled
        When `should_stop` says yes before the last technician's weeks are solved.
    """
    groups = _by_technician(rooms, choices)
    programs = Programs(jobs, rooms, should_stop)
    taken: dict[int, Choice | None] = dict.fromkeys(choices.without)
    cost = bound = sum(left_out_price(jobs[n]) for n in choices.without)
    with ThreadPoolExecutor(WORKERS) as pool:
        for n, part in enumerate(pool.map(programs.in_whole, groups.values())):
            taken |= part.taken
            cost += part.cost
            bound += part.bound
            say(Progress(n + 1, len(groups)))
    return Solved(taken, cost, bound)


def _by_technician(
    rooms: Sequence[Room], choices: Choices
) -> dict[str, Mapping[int, Sequence[Choice]]]:
    """Choices by job, for each technician in the order of ids."""
    found: dict[str, dict[int, list[Choice]]] = defaultdict(lambda: defaultdict(list))
    for choice in choices.all:
        found[rooms[choice.room].technician_id][choice.job].append(choice)
    return {technician_id: found[technician_id] for technician_id in sorted(found)}
