"""Branches planned by two workers on PostgreSQL, one of which is killed half-way.

Prints how long it took, and whether a plan was lost or stored twice: each branch must end with
one done job and one version of its plan, the same as when it is planned alone.

`python -m tests.bench.worker_kill --branches 20 --rounds 60000`
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

from dbos import DBOS
from sqlalchemy import func, select

from api.jobs.job import JobState
from api.jobs.queue import Jobs
from dispatch.actions.plan_week import plan_week
from dispatch.planning.plan import WeekPlan
from dispatch.settings import Settings
from dispatch.store.db import make_engine, transaction
from dispatch.store.plans import read_plan
from dispatch.store.tables import table_of
from tests.databases import database_of
from tests.town import TODAY, WEEK, Company, build_town, fill_book

PATIENCE_S = 600
ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Outcome:
    """What became of the branches; all three should be told as the number of branches."""

    done: int
    with_the_same_plan: int
    stored_once: int
    begun_again: int  # jobs that a second worker had to begin again
    seconds: float


def run(folder: Path, branches: int, rounds: int) -> Outcome:
    """Plan so many branches with two workers, kill one when half are done, wait for the other."""
    settings = Settings(
        data_dir=folder / "data",
        database_url=database_of(folder),
        country=None,
        fixed_today=TODAY,
        default_iterations=rounds,
    )
    names = [f"branch-{n:02}" for n in range(1, branches + 1)]
    first = _make_branches(settings, names, folder)
    alone = _planned_alone(first, folder / "alone", rounds)
    began = time.monotonic()
    engine = make_engine(settings)
    jobs = Jobs(settings, engine)
    jobs.open(works=False)
    workers = {one.pid: one for one in (_start_worker(settings) for _ in range(2))}
    try:
        for name in names:
            jobs.plan_branch(name, WEEK)
        _wait(jobs, branches // 2)
        _kill_one_at_work(workers)
        _wait(jobs, branches)
        states = [job for _, job in jobs.of_all_branches()]
    finally:
        for worker in workers.values():
            worker.send_signal(signal.SIGTERM)
            worker.wait(60)
        jobs.close()
        engine.dispose()
    plans = [_plan_of(settings.of_branch(name)) for name in names]
    return Outcome(
        sum(job.state is JobState.DONE for job in states),
        sum(plan == alone for plan, _ in plans),
        sum(versions == 1 for _, versions in plans),
        sum(job.attempt > 1 for job in states),
        time.monotonic() - began,
    )


def _make_branches(settings: Settings, names: list[str], folder: Path) -> Settings:
    """Give each branch the same map and book; the settings of the first come back."""
    first = settings.of_branch(names[0])
    for name in names:
        own = settings.of_branch(name)
        own.data_dir.mkdir(parents=True)
        company = Company(own, make_engine(own))
        if own == first:
            build_town(company, folder)
        else:
            shutil.copytree(first.map_dir, own.map_dir)
        fill_book(company)
        company.engine.dispose()
    return first


def _planned_alone(branch: Settings, folder: Path, rounds: int) -> WeekPlan:
    own = Settings(data_dir=folder, country=None, fixed_today=TODAY)
    shutil.copytree(branch.map_dir, own.map_dir)
    company = Company(own, make_engine(own))
    fill_book(company)
    plan = plan_week(company.engine, own, WEEK, today=TODAY, iterations=rounds)
    company.engine.dispose()
    return replace(plan)


def _start_worker(settings: Settings) -> subprocess.Popen[bytes]:
    env = os.environ | {
        "DISPATCH_DATA_DIR": str(settings.data_dir),
        "DISPATCH_DATABASE_URL": settings.database_url,
        "DISPATCH_COUNTRY": "",
        "DISPATCH_FIXED_TODAY": TODAY.isoformat(),
        "DISPATCH_DEFAULT_ITERATIONS": str(settings.default_iterations),
    }
    words = [sys.executable, "-c", "from dispatch.cli import main; main()", "work"]
    return subprocess.Popen(words, env=env, cwd=ROOT, stderr=subprocess.DEVNULL)  # noqa: S603


def _wait(jobs: Jobs, done: int) -> None:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        states = Counter(job.state for _, job in jobs.of_all_branches())
        if states[JobState.FAILED] or states[JobState.STOPPED]:
            raise AssertionError(f"jobs ended badly: {states}")
        if states[JobState.DONE] >= done:
            return
        time.sleep(0.05)
    raise AssertionError(f"still {states} after {PATIENCE_S} s")


def _kill_one_at_work(workers: dict[int, subprocess.Popen[bytes]]) -> None:
    """Kill -9 a worker while a job runs in it; its name ends with its process id and a number."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        for status in DBOS.list_workflows(status="PENDING"):
            pid = int((status.executor_id or "-0-").split("-")[-2])
            if pid in workers:
                workers[pid].kill()
                workers.pop(pid).wait()
                return
        time.sleep(0.01)
    raise AssertionError("no worker was seen at work")


def _plan_of(branch: Settings) -> tuple[WeekPlan, int]:
    engine = make_engine(branch)
    from dispatch.store.desk_tables import PlanVersionRow

    with transaction(engine, read_only=True) as session:
        plan = read_plan(session, WEEK)
        count = select(func.count()).select_from(table_of(PlanVersionRow))
        versions = int(session.scalar(count) or 0)
    engine.dispose()
    return plan, versions


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--branches", type=int, default=20)
    parser.add_argument("--rounds", type=int, default=60_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        outcome = run(Path(place), given.branches, given.rounds)
    print(f"{given.branches} branches, two workers, one killed half-way: {outcome.seconds:.1f} s")
    print(f"done {outcome.done}, as planned alone {outcome.with_the_same_plan},", end=" ")
    print(f"stored once {outcome.stored_once}, begun again {outcome.begun_again}")
