"""Strokes: pieces of street that lead on into each other, as a street with one name does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sample_region.plane import Point, deflection


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of street from node a to node b; pieces join only within the same `group`."""

    a: int
    b: int
    line: tuple[Point, ...]
    group: str = ""


@dataclass(frozen=True, slots=True)
class Stroke:
    """Pieces in order, each with whether it is walked from b to a."""

    parts: tuple[tuple[int, bool], ...]


def strokes_of(pieces: Sequence[Piece], bend_most: float) -> list[Stroke]:
    """Join the pieces into strokes.

    At every node the two ends that bend least go on into each other, as long as they bend by
    less than `bend_most` radians. Every piece is in exactly one stroke.
    """
    partner = _partners(pieces, bend_most)
    done: set[int] = set()
    strokes = []
    for first in range(len(pieces)):
        if first in done:
            continue
        start = _walk_back(first, partner)
        parts = []
        end: tuple[int, int] | None = start
        while end is not None and end[0] not in done:
            number, entered = end
            done.add(number)
            parts.append((number, entered == 1))
            end = partner.get((number, 1 - entered))
        strokes.append(Stroke(tuple(parts)))
    return strokes


_End = tuple[int, int]  # piece, and 0 for its end a or 1 for its end b


def _partners(pieces: Sequence[Piece], bend_most: float) -> dict[_End, _End]:
    ends_at: dict[int, list[_End]] = {}
    for number, piece in enumerate(pieces):
        ends_at.setdefault(piece.a, []).append((number, 0))
        ends_at.setdefault(piece.b, []).append((number, 1))
    partner: dict[_End, _End] = {}
    for ends in ends_at.values():
        pairs = sorted(
            (_bend(pieces, one, two), one, two)
            for n, one in enumerate(ends)
            for two in ends[n + 1 :]
            if one[0] != two[0] and pieces[one[0]].group == pieces[two[0]].group
        )
        for bend, one, two in pairs:
            if bend < bend_most and one not in partner and two not in partner:
                partner[one], partner[two] = two, one
    return partner


def _bend(pieces: Sequence[Piece], one: _End, two: _End) -> float:
    """How much the way from piece one into piece two bends, radians."""
    first, second = (pieces[n].line if end == 0 else pieces[n].line[::-1] for n, end in (one, two))
    return deflection(first[1], first[0], second[1])


def _walk_back(first: int, partner: dict[_End, _End]) -> _End:
    """The end at which the stroke of a piece begins (any end, if it runs in a ring)."""
    end = (first, 0)
    while end in partner:
        number, other = partner[end]
        end = (number, 1 - other)
        if end[0] == first:
            break
    return end
