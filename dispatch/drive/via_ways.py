"""Turn rules by way of streets: what a truck may do next depends on how it came.

A rule is resolved to rows of edges that nobody may drive one after another. An edge inside such a
row gets a copy for each way of coming to it that can still end in a forbidden row (the states of
A. V. Aho and M. J. Corasick, Communications of the ACM 18(6), 1975); the turns of a copy are those
of its edge less the forbidden ones. Everything else stays as it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from dispatch.drive.turns import Turns

if TYPE_CHECKING:
    from collections.abc import Iterable

    from dispatch.drive.extract import WayRule
    from dispatch.drive.turns import Streets

    Row = tuple[int, ...]

MOST_EDGES = 60  # a rule by way of more pieces of street than this is taken for a mistake


def bound_by_ways(streets: Streets, turns: Turns, rules: Iterable[WayRule]) -> tuple[Turns, int]:
    """Return the turns with copies of edges for rules by way of streets.

    Parameters
    ----------
    streets
        The edges.
    turns
        Turns allowed by all other rules, without copies.
    rules
        By ways of the map. One whose streets do not join in exactly one manner is left out.

    Returns
    -------
    tuple
        The turns, and how many rules were left out.
    """
    rules = list(rules)
    by_way = _edges_of(streets, {way for r in rules for way in (r.from_way, *r.via, r.to_way)})
    onward = _onward(turns, {edge for edges in by_way.values() for edge in edges})
    forbidden: set[Row] = set()
    unclear = 0
    for rule in rules:
        if not all(way in by_way for way in (rule.from_way, *rule.via, rule.to_way)):
            continue  # a street of it was not read or lies off the core: nobody drives the row
        rows = _rows(streets, onward, by_way, rule)
        unclear += len(rows) != 1
        if len(rows) == 1:
            forbidden |= _forbidden(rows[0], onward, only=rule.only)
    if not forbidden:
        return turns, unclear
    return _with_copies(turns, onward, forbidden, len(streets.tail)), unclear


def _edges_of(streets: Streets, ways: set[int]) -> dict[int, list[int]]:
    edges: dict[int, list[int]] = {}
    for edge in np.flatnonzero(np.isin(streets.way, sorted(ways))).tolist():
        edges.setdefault(int(streets.way[edge]), []).append(edge)
    return edges


def _onward(turns: Turns, edges: set[int]) -> dict[int, list[tuple[int, int]]]:
    """Return by edge the edges it leads to, with the number of the turn."""
    onward: dict[int, list[tuple[int, int]]] = {}
    for i in np.flatnonzero(np.isin(turns.source, sorted(edges))).tolist():
        onward.setdefault(int(turns.source[i]), []).append((int(turns.target[i]), i))
    return onward


def _rows(
    streets: Streets,
    onward: dict[int, list[tuple[int, int]]],
    by_way: dict[int, list[int]],
    rule: WayRule,
) -> list[Row]:
    """Return the rows of edges that lead from the first way by all others, in order, to the last.

    Within a way nobody turns about; of several rows the shortest count, since whoever drives
    further along the first way than needed passes the rule by.
    """
    ways = (rule.from_way, *rule.via, rule.to_way)
    found: list[Row] = []
    rows: list[tuple[Row, int]] = [((edge,), 0) for edge in by_way[rule.from_way]]
    for _ in range(MOST_EDGES):
        longer: list[tuple[Row, int]] = []
        for row, at in rows:
            for edge, _turn in onward.get(row[-1], ()):
                way = int(streets.way[edge])
                about = streets.twin[row[-1]] == edge
                if way == ways[at + 1] and not (about and way == ways[at]):
                    if at + 2 == len(ways):
                        found.append((*row, edge))
                    else:
                        longer.append(((*row, edge), at + 1))
                elif at > 0 and way == ways[at] and not about and edge not in row:
                    longer.append(((*row, edge), at))
        if found or not longer:
            return found
        rows = longer
    return found


def _forbidden(row: Row, onward: dict[int, list[tuple[int, int]]], *, only: bool) -> set[Row]:
    """Return the forbidden rows: the row itself, or every other end of it where it is the only."""
    if not only:
        return {row}
    return {(*row[:-1], edge) for edge, _turn in onward[row[-2]] if edge != row[-1]}


def _with_copies(
    turns: Turns, onward: dict[int, list[tuple[int, int]]], forbidden: set[Row], edge_count: int
) -> Turns:
    """Return the turns with a copy of an edge for each beginning of a forbidden row."""
    begun = sorted({row[:n] for row in forbidden for n in range(2, len(row))})
    number = {row: edge_count + i for i, row in enumerate(begun)}
    target = turns.target.copy()
    for row in begun:
        if len(row) == 2:
            target[[i for edge, i in onward[row[0]] if edge == row[1]]] = number[row]
    turn, source, further = [], [], []
    for row in begun:
        for edge, i in onward.get(row[-1], ()):
            driven = (*row, edge)
            ends = [driven[n:] for n in range(len(driven) - 1)]  # the longest first
            if turns.spare[i] or any(end in forbidden for end in ends):
                continue  # turning about between two streets would get round the rule
            turn.append(i)
            source.append(number[row])
            further.append(next((number[end] for end in ends if end in number), edge))
    at = np.array(turn, dtype=np.int64)
    return Turns(
        np.concatenate([turns.source, np.array(source, dtype=np.int64)]),
        np.concatenate([target, np.array(further, dtype=np.int64)]),
        np.concatenate([turns.delay_ms, turns.delay_ms[at]]),
        np.concatenate([turns.private_gate, turns.private_gate[at]]),
        np.concatenate([turns.spare, turns.spare[at]]),
        np.array([row[-1] for row in begun], dtype=np.int64),
    )
