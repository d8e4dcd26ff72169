"""Strokes: which pieces of street make one street."""

from __future__ import annotations

import math

from sample_region.strokes import Piece, strokes_of

#        3
#        |
#  0 --- 1 --- 2     straight on from 0 to 2; the street from 3 ends at 1
CROSSING = [
    Piece(0, 1, ((0, 0), (100, 0))),
    Piece(2, 1, ((200, 5), (100, 0))),
    Piece(3, 1, ((100, 100), (100, 0))),
]


def test_the_straightest_pieces_go_on_into_each_other() -> None:
    """A street keeps its name straight on and loses it at a turn."""
    strokes = strokes_of(CROSSING, math.radians(40))
    assert sorted(sorted(n for n, _ in s.parts) for s in strokes) == [[0, 1], [2]]


def test_a_stroke_knows_which_pieces_are_walked_backwards() -> None:
    """Piece 1 is drawn towards node 1, so from node 0 it is walked against its direction."""
    (through,) = [s for s in strokes_of(CROSSING, math.radians(40)) if len(s.parts) == 2]
    walked = dict(through.parts)
    assert walked[0] != walked[1]


def test_pieces_of_different_groups_are_kept_apart() -> None:
    """A private street must not share a way with a public one."""
    apart = [Piece(p.a, p.b, p.line, str(n)) for n, p in enumerate(CROSSING)]
    assert [len(s.parts) for s in strokes_of(apart, math.radians(40))] == [1, 1, 1]


def test_a_ring_is_one_stroke() -> None:
    """A ring has no end to begin at; it must not be walked for ever."""
    corners = [(math.cos(k * math.pi / 4), math.sin(k * math.pi / 4)) for k in range(8)]
    ring = [Piece(k, (k + 1) % 8, (corners[k], corners[(k + 1) % 8])) for k in range(8)]
    (stroke,) = strokes_of(ring, math.radians(60))
    assert len(stroke.parts) == 8
