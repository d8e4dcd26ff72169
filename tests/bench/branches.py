"""A company of ten branches planned on two cores.

    python -m tests.bench.branches [--branches 10] [--cores 2] [--size 1000/15] [--rounds N]

Every branch is a made-up company of its own, planned with the usual number of rounds in one of
`--cores` processes, which end when this one does, however it ends. The streets and drive times of
the branches are made beforehand. Printed are wall and CPU seconds and memory of every branch, and
the wall seconds of the whole. The search is compiled beforehand, once for all processes.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import threading
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from multiprocessing.connection import wait

from dispatch.planning.check import violations
from dispatch.planning.problem import Problem
from dispatch.planning.search import iterations_for
from dispatch.planning.warm import compile_search
from dispatch.planning.week import plan_problem
from tests.bench.company import HOUR, Size, company
from tests.bench.peers.apart import peak_mb


@dataclass(frozen=True, slots=True)
class Planned:
    """One planned branch."""

    branch: int
    drive_h: float
    visits: int
    unplaced: int
    broken: int
    wall_s: float
    cpu_s: float
    peak_mb: float


def end_with_parent() -> None:
    """Let this process end as soon as its parent has ended, even by a kill."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=watch, daemon=True, name="end with parent").start()


def plan_branch(branch: int, problem: Problem, rounds: int) -> Planned:
    """Plan one branch."""
    begin, busy = time.perf_counter(), time.process_time()
    plan = plan_problem(problem, iterations=rounds)
    return Planned(
        branch=branch,
        drive_h=plan.drive_s / HOUR,
        visits=len(problem.demand_of),
        unplaced=len(plan.unplaced),
        broken=len(violations(problem, plan)),
        wall_s=time.perf_counter() - begin,
        cpu_s=time.process_time() - busy,
        peak_mb=peak_mb(),
    )


def main() -> None:
    """Plan all branches."""
    parser = argparse.ArgumentParser(description="Many branches on few cores")
    parser.add_argument("--branches", type=int, default=10)
    parser.add_argument("--cores", type=int, default=2)
    parser.add_argument("--size", type=Size.parse, default=Size(1000, 15))
    parser.add_argument("--rounds", type=int, help="of the search; the usual number by default")
    words = parser.parse_args()
    compile_search()
    problems = [company(words.size, seed) for seed in range(words.branches)]
    print("branch  driving  visits unplaced broken    wall     CPU     MB", flush=True)
    begin = time.perf_counter()
    spawning = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(words.cores, spawning, end_with_parent) as pool:
        jobs = [
            pool.submit(plan_branch, n, one, words.rounds or iterations_for(one))
            for n, one in enumerate(problems)
        ]
        done = []
        for job in as_completed(jobs):
            one = job.result()
            done.append(one)
            print(
                f"{one.branch:6} {one.drive_h:6.1f} h {one.visits:7} {one.unplaced:8} "
                f"{one.broken:6} {one.wall_s:5.0f} s {one.cpu_s:5.0f} s {one.peak_mb:6.0f}",
                flush=True,
            )
    wall_s = time.perf_counter() - begin
    sites = words.branches * words.size.sites
    print(
        f"{sites:,} sites of {words.branches} branches on {words.cores} cores: {wall_s:.0f} s, "
        f"{sum(one.cpu_s for one in done):.0f} CPU s, {sum(one.unplaced for one in done)} visits "
        f"unplaced, {sum(one.broken for one in done)} rules broken"
    )


if __name__ == "__main__":
    main()
