"""Compile the search ahead of its first use: `python -m dispatch.planning.warm`.

The compiled code is kept in the user's cache folder (see `dispatch.compiled`), so that one machine
compiles once; that takes half a minute or more.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from dispatch.clock import IsoWeek
from dispatch.planning.anneal import anneal
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.planning.search import search
from dispatch.technicians import Shift


def compile_search() -> None:
    """Run the search once on the smallest week there is, which compiles or loads all of it."""
    day = date(2026, 11, 30)
    pools = tuple(
        Demand(f"S{n}", (f"S{n}/1",), n, ((day,),), 60, date(2026, 12, 7)) for n in (1, 2)
    )
    cell = Cell("T1", "T1", day, Shift(0, 86_400), 0, 0)
    drive = np.ones((3, 3), dtype=np.int64)
    week = Problem(IsoWeek.of(day), (cell,), pools, ("0", "1", "2"), drive, drive)
    search(week, seed=1, iterations=2)


def is_compiled() -> bool:
    """Whether this machine has compiled these very sources before.

    `anneal` calls all the rest, so its code is the last to be kept.
    """
    compiled: Any = anneal  # typed as the function it was
    folder = Path(compiled.stats.cache_path)
    return next(folder.glob("anneal.anneal-*.nbi"), None) is not None


if __name__ == "__main__":
    compile_search()
