"""The street grid of an invented metropolitan area: crossings, pieces of street and their ranks.

Thousands of crossings stand in rows and columns, a little out of line; arterial streets run
through, local streets are thinned out until they have dead ends and detours as suburbs do. All
steps work on whole arrays, so that 300,000 crossings take a second or two.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import minimum_spanning_tree

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

STEP_M = 120.0  # between neighbouring crossings, metres; common practice for a block's side
JITTER_M = 9.0  # standard deviation by which a local crossing stands out of line, metres
CROSSINGS_PER_JUNCTION = 1.8  # the others are bends of one street after thinning; measured
THROUGH = 0.42  # share of the local pieces kept that are not needed to reach every crossing
DOORS = 0.25  # the same for local pieces that come out on a main street
CENTRE_SHARE = 0.07  # of the side: half the width of the centre, where all streets are kept
CLASSES = ("primary", "secondary", "tertiary", "residential")
LOCAL = CLASSES.index("residential")
SUBURB = 64  # crossings along the side of a suburb, within which a street name is given once


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Crossings by number (row · side + column) and pieces of street between neighbours.

    `x_m` and `y_m` are metres on the plane; by piece: `a` and `b` its crossings (b the further east
    or north), `line` the row or column it lies on, `along` whether that is a row, `rank` an index
    of `CLASSES`, `centre` whether it lies in the centre of town.
    """

    side: int
    x_m: Floats
    y_m: Floats
    a: Ints
    b: Ints
    line: Ints
    along: Flags
    rank: Ints
    centre: Flags

    def arms(self) -> Ints:
        """Number of pieces at each crossing."""
        return np.bincount(np.concatenate([self.a, self.b]), minlength=self.side**2)


def draw_grid(junctions: int, chance: np.random.Generator) -> Grid:
    """Draw a grid with about so many junctions (points where streets fork, cross or end)."""
    side = max(24, round(math.sqrt(junctions * CROSSINGS_PER_JUNCTION)))
    row, column = np.divmod(np.arange(side * side), side)
    local = (rank_of_line(row) == LOCAL) & (rank_of_line(column) == LOCAL)
    x_m, y_m = plane(side, column.astype(float), row.astype(float))
    x_m += np.where(local, chance.normal(0, JITTER_M, side * side), 0.0)
    y_m += np.where(local, chance.normal(0, JITTER_M, side * side), 0.0)
    number = np.arange(side * side).reshape(side, side)
    rows = (number[:, :-1].ravel(), number[:, 1:].ravel())
    columns = (number[:-1].T.ravel(), number[1:].T.ravel())
    a, b = (np.concatenate([rows[n], columns[n]]) for n in range(2))
    along = np.arange(len(a)) < len(rows[0])
    line = np.where(along, row[a], column[a])
    middle = side / 2
    away = np.maximum(np.abs(row - middle), np.abs(column - middle))
    centre = np.maximum(away[a], away[b]) < CENTRE_SHARE * side
    rank = rank_of_line(line)
    door = (rank == LOCAL) & ~(local[a] & local[b])
    kept = _kept(side, (a, b), (rank < LOCAL) | centre, door, chance)
    return Grid(side, x_m, y_m, a[kept], b[kept], line[kept], along[kept], rank[kept], centre[kept])


def rank_of_line(line: npt.NDArray[Any]) -> Ints:
    """Rank of the street on a row or column: a secondary about each kilometre, and so on."""
    rank = np.full(line.shape, LOCAL, dtype=np.int64)
    rank[line % 8 == 4] = CLASSES.index("tertiary")
    rank[line % 8 == 0] = CLASSES.index("secondary")
    rank[line % 32 == 16] = CLASSES.index("primary")
    return rank


def plane(side: int, column: Floats, row: Floats) -> tuple[Floats, Floats]:
    """Metres east and north of the middle of a (fractional) column and row: long roads bend."""
    x_m, y_m = (column - side / 2) * STEP_M, (row - side / 2) * STEP_M
    east_m = 210 * np.sin(y_m / 2300 + 0.4) + 120 * np.sin(x_m / 1700 + y_m / 3100)
    north_m = 190 * np.sin(x_m / 2600 + 1.3) + 110 * np.sin(y_m / 1900 - x_m / 3500)
    return x_m + east_m, y_m + north_m


def _kept(
    side: int, ends: tuple[Ints, Ints], always: Flags, door: Flags, chance: np.random.Generator
) -> Flags:
    """Which pieces stay: main ones, a tree that reaches every crossing, and some of the rest."""
    draw = chance.random(len(always))
    weight = np.where(always, 1e-3, 1.0 + draw + door)
    size = side * side
    tree = minimum_spanning_tree(csr_matrix((weight, ends), shape=(size, size))).tocoo()
    in_tree = np.isin(ends[0] * size + ends[1], tree.row.astype(np.int64) * size + tree.col)
    return always | in_tree | (draw < np.where(door, DOORS, THROUGH))
