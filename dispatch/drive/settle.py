"""Which streets are driven on: all that can be both reached and left, and how."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from dispatch.drive.turns import Turns

if TYPE_CHECKING:
    import numpy.typing as npt

    Ints = npt.NDArray[np.int64]
    Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """By edge: kept, may only begin or end a drive; and the turns between kept edges, renumbered.

    Edges of the turns are numbered anew in the order of the kept ones, copies after them.
    """

    kept: Flags
    end_only: Flags
    turns: Turns


def strong_core(tail: Ints, head: Ints) -> Flags:
    """Return which edges lie in the largest strongly connected part of the streets (NetworkX).

    Parameters
    ----------
    tail, head
        Node numbers by edge. Of parts of one size the one with the lowest node counts.
    """
    import networkx as nx

    graph = nx.DiGraph()
    graph.add_edges_from(zip(tail.tolist(), head.tolist(), strict=True))
    parts = nx.strongly_connected_components(graph)
    largest = max(parts, key=lambda part: (len(part), -min(part)))
    inside = np.zeros(1 + max(int(tail.max()), int(head.max())), dtype=np.bool_)
    inside[list(largest)] = True
    core: Flags = inside[tail] & inside[head]
    return core


def settle(end_only: Flags, turns: Turns) -> Settled:
    """Return which edges are kept, which only begin or end a drive, and which turns are taken.

    Spare turns are also taken between the two directions of a street of which one alone would be
    kept. An open street that is reached only through private ones counts as private too, and nobody
    drives through a private gate from one open street to another. Where everything is private,
    nothing is.

    Parameters
    ----------
    end_only
        By edge.
    turns
        Turns allowed between edges and their copies.
    """
    edge = np.concatenate([np.arange(len(end_only)), turns.copy_of])
    kept, through, taken = _settled(end_only[edge], turns)
    kept[: len(end_only)] = _by_edge(kept, edge, len(end_only))
    edge_kept = kept[: len(end_only)]
    open_to_all = _by_edge(through, edge, len(end_only))
    closed = edge_kept & ~open_to_all if through.any() else np.zeros_like(edge_kept)
    return Settled(edge_kept, closed, _renumbered(turns, kept, taken))


def _by_edge(flags: Flags, edge: Ints, edge_count: int) -> Flags:
    """Return which edges are flagged, themselves or by a copy."""
    return np.bincount(edge[flags], minlength=edge_count) > 0


def _strong_edges(turns: Turns, usable: Flags, passable: Flags) -> Flags:
    """Return which usable edges lie in the largest part where each is reached from each."""
    count = len(usable)
    between = passable & usable[turns.source] & usable[turns.target]
    ends = (turns.source[between], turns.target[between])
    arcs = csr_matrix((np.ones(len(ends[0]), dtype=np.int8), ends), shape=(count, count))
    _, part = connected_components(arcs, connection="strong")
    size = np.bincount(part[usable], minlength=int(part.max()) + 1)
    strong: Flags = usable & (part == np.argmax(size))
    return strong


def _turns_with_a_way_on(turns: Turns, edge_count: int) -> Flags:
    """Return the turns that are taken so that no truck is stuck: a spare turn where none leads on.

    A turn leads on if the edge behind it does; turn rules and the edge of the map leave some that
    do not.
    """
    taken = ~turns.spare
    leads_on = np.ones(edge_count, dtype=np.bool_)
    while True:
        used = turns.source[taken & leads_on[turns.target]]
        still = np.bincount(used, minlength=edge_count) > 0
        about = turns.spare & ~taken & ~still[turns.source]
        if not about.any() and np.array_equal(still, leads_on):
            return taken
        taken |= about
        leads_on = np.ones_like(still) if about.any() else still


def _settled(end_only: Flags, turns: Turns) -> tuple[Flags, Flags, Flags]:
    """Return by edge and copy whether it is kept and driven through, and which turns are taken."""
    taken = _turns_with_a_way_on(turns, len(end_only))
    everything = np.ones(len(end_only), dtype=np.bool_)
    kept = _strong_edges(turns, everything, taken)
    taken |= turns.spare & (kept[turns.source] != kept[turns.target])
    kept = _strong_edges(turns, everything, taken)
    usable = kept & ~end_only
    if not usable.any():
        return kept, usable, taken
    through = _strong_edges(turns, usable, taken & ~turns.private_gate)
    open_ends = usable[turns.source] & usable[turns.target]
    taken |= turns.spare & open_ends & (through[turns.source] != through[turns.target])
    through = _strong_edges(turns, usable, taken & ~turns.private_gate)
    taken &= ~(turns.private_gate & through[turns.source] & through[turns.target])
    return kept, through, taken


def _renumbered(turns: Turns, kept: Flags, taken: Flags) -> Turns:
    """Return the turns that are taken between kept edges and copies, numbered anew."""
    number = np.cumsum(kept) - 1
    stay = taken & kept[turns.source] & kept[turns.target]
    copies = kept[len(kept) - len(turns.copy_of) :]
    return Turns(
        number[turns.source[stay]],
        number[turns.target[stay]],
        turns.delay_ms[stay],
        turns.private_gate[stay],
        turns.spare[stay],
        number[turns.copy_of[copies]],
    )
