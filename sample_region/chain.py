"""A local street between two crossings, before it is drawn."""

from __future__ import annotations

from dataclasses import dataclass

from sample_region.plane import Point


@dataclass(slots=True)
class Chain:
    """A local street from sheet node a to sheet node b, with its line in metres.

    `kind` is 'street' or 'alley'; `row` its row's number in the block, None if it runs across.
    A private street lies behind a gate; `gate_at` is the end of it at which the gate stands.
    """

    a: int
    b: int
    line: list[Point]
    row: int | None
    kind: str
    private: bool = False
    gate_at: int | None = None
