"""Gated streets: a part of a block with one way in."""

from __future__ import annotations

from collections.abc import Sequence

from sample_region.chain import Chain
from sample_region.sheet import Sheet

FEWEST, MOST = 3, 22  # streets between crossings behind one gate
GATE_M = 14.0  # metres from the crossing to the gate


def lock_up(chains: Sequence[Chain], doors: set[int]) -> None:
    """Make the largest fitting part of a block with a single way in private, with a gate."""
    best: tuple[int, int, int, set[int]] | None = None
    for number, chain in enumerate(chains):
        for outside, inside in ((chain.a, chain.b), (chain.b, chain.a)):
            behind = _behind(chains, number, inside)
            if outside in behind or behind & doors or inside in doors:
                continue
            count = sum(1 for c in chains if c.a in behind and c.b in behind) + 1
            if FEWEST <= count <= MOST and (best is None or count > best[0]):
                best = (count, number, outside, behind)
    if best is None:
        return
    _, number, outside, behind = best
    for chain in chains:
        chain.private = chain.a in behind and chain.b in behind
    chains[number].private = True
    chains[number].gate_at = outside


def _behind(chains: Sequence[Chain], gone: int, start: int) -> set[int]:
    """Nodes reached from `start` without the chain `gone`."""
    beside: dict[int, list[int]] = {}
    for number, chain in enumerate(chains):
        if number != gone:
            beside.setdefault(chain.a, []).append(chain.b)
            beside.setdefault(chain.b, []).append(chain.a)
    found, todo = {start}, [start]
    while todo:
        for other in beside.get(todo.pop(), ()):
            if other not in found:
                found.add(other)
                todo.append(other)
    return found


def with_gate(sheet: Sheet, nodes: Sequence[int], gate_at: int) -> list[int]:
    """The nodes of a street with a gate shortly behind the end `gate_at`."""
    tags = {"barrier": "gate", "access": "private"}
    if nodes[0] == gate_at:
        return sheet.with_node(nodes, GATE_M, tags)
    return sheet.with_node(nodes[::-1], GATE_M, tags)[::-1]
