"""Compile the search ahead of its first use: `python -m dispatch.planning.warm`.

The compiled code is kept in the user's cache folder (see `dispatch.compiled`), so that one machine
compiles once; that takes half a minute or more.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from dispatch.clock import IsoWeek
from dispatch.planning.anneal import run_rounds
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.planning.walk import best_walk
from dispatch.planning.week import plan_problem
from dispatch.technicians import Shift


def compile_search() -> None:
    """Plan the smallest week there is, which compiles or loads all of it.

    One of its pools finds no place, so that explaining is compiled too.
    """
    day = date(2026, 11, 30)
    pools = tuple(
        Demand(f"S{n}", (f"S{n}/1",), n, ((day,),), 60, date(2026, 12, 7)) for n in (1, 2)
    )
    cell = Cell("T1", "T1", day, Shift(0, 86_400), 0, 0)
    drive = np.ones((3, 3), dtype=np.int64)
    nobody = replace(pools[0], site_id="S3", visit_ids=("S3/1",), service_s=90_000)
    week = Problem(IsoWeek.of(day), (cell,), (*pools, nobody), ("0", "1", "2"), drive, drive)
    plan_problem(week, seed=1, iterations=2)


def is_compiled() -> bool:
    """Whether this machine has compiled these very sources before.

    `run_rounds` and `best_walk` call what every plan needs, so their code is the last to be kept.
    """
    last: tuple[Any, ...] = (run_rounds, best_walk)  # typed as the functions they were
    return all(
        next(Path(one.stats.cache_path).glob(f"*.{one.__name__}-*.nbi"), None) is not None
        for one in last
    )


if __name__ == "__main__":
    compile_search()
