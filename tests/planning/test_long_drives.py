"""Drives stand in two bytes where they fit, in four where not; where no way leads, nobody goes."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np

from dispatch.planning.arrays import encode
from dispatch.planning.check import violations
from dispatch.planning.problem import NO_DRIVE_S, Problem, Seconds
from dispatch.planning.search import search
from dispatch.planning.week import plan_problem
from tests.planning.weeks import MON, TUE, cell, demand, problem

ROOT = Path(__file__).parents[2]
POOLS = 12


def around(reach_s: int) -> Seconds:
    """Drives between a yard, a dozen pools and a place nobody visits, `reach_s` away from all."""
    chance = np.random.default_rng(4)
    drive_s = chance.integers(60, 1800, (POOLS + 2, POOLS + 2))
    drive_s[-1, :] = drive_s[:, -1] = reach_s
    np.fill_diagonal(drive_s, 0)
    return drive_s


def week(drive_s: Seconds) -> Problem:
    """A dozen pools for two days of one technician."""
    pools = [demand(f"S{n:02}", n, MON, TUE, minutes=30) for n in range(1, POOLS + 1)]
    return problem(drive_s, [cell(day=MON), cell(day=TUE)], pools)


def test_drives_of_more_than_eighteen_hours_change_no_plan() -> None:
    """Two bytes hold 65,535 seconds, the last of them for no way; beyond that four are taken.

    Compiling the search for four bytes as well takes a minute or two, so this is done uncompiled.
    """
    done = subprocess.run(  # noqa: S603 - our own words
        [sys.executable, "-c", f"import {__name__} as here; here.compare()"],
        env=os.environ | {"NUMBA_DISABLE_JIT": "1"}, cwd=ROOT,
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


def compare() -> None:
    """Search the same week with drives of two bytes and of four."""
    short, long = week(around(65_534)), week(around(65_535))
    assert encode(short).arrays.drives_s.dtype == np.uint16
    assert encode(long).arrays.drives_s.dtype == np.uint32
    found = [search(one, seed=1, iterations=500) for one in (short, long)]
    assert found[0] == found[1]


def test_no_way_is_none_though_the_day_is_longer_than_two_bytes_hold() -> None:
    """In 24 hours a drive of 65,535 s would fit; from S1 nothing leads to S2, only back.

    From S3 nothing leads home: it cannot be visited at all.
    """
    drive_s = np.full((4, 4), 600, dtype=np.int64)
    drive_s[1, 2] = drive_s[3, 0] = drive_s[3, 1] = drive_s[3, 2] = NO_DRIVE_S
    np.fill_diagonal(drive_s, 0)
    pools = [demand(f"S{n}", n, minutes=30) for n in (1, 2, 3)]
    one_way = problem(drive_s, [cell(hours="00:00-24:00")], pools)
    plan = plan_problem(one_way, iterations=200)
    assert not violations(one_way, plan)
    assert [stop.site_id for route in plan.routes for stop in route.stops] == ["S2", "S1"]
    assert [one.site_id for one in plan.unplaced] == ["S3"]
