"""Compile the repairs of a day ahead of their first use: `python -m dispatch.day.warm`.

The search of whole weeks is compiled with them; both are kept in the user's cache folder (see
`dispatch.compiled`), so that one machine compiles once.
"""

from __future__ import annotations

from datetime import UTC, date

import numpy as np

from dispatch.day.own_search import inserted, own_search
from dispatch.day.rest import RepairPrices, field_of
from dispatch.day.situation import situation
from dispatch.day.standing import Roads
from dispatch.day.state import fold
from dispatch.day.triggers import UrgentStop
from dispatch.day.work import Revision, Work
from dispatch.planning.plan import Route
from dispatch.planning.problem import Cell
from dispatch.planning.warm import compile_search
from dispatch.technicians import Shift


def compile_repairs() -> None:
    """Repair the smallest day there is, which compiles or loads what every repair needs."""
    day = date(2026, 11, 30)
    drive_s = np.ones((2, 2), dtype=np.int64)
    roads = Roads({"site:S1": 0}, drive_s, drive_s)
    nothing = Route("T1", day, (), 0, 0, 0, 0, 0, 0, 0, 0)
    state = fold(day, [Revision(1, 0, nothing, ())], ())
    cell = Cell("T1", "T1", day, Shift(0, 86_400), 1, 1)
    urgent = UrgentStop(Work("urgent", "S1", 60))
    rest = situation(state, [cell], roads, 0, UTC, urgent, RepairPrices()).rest
    f = field_of(rest)
    own_search(f, inserted(f, rest.base, [0]).orders, seed=1, rounds=2)


if __name__ == "__main__":
    compile_search()
    compile_repairs()
