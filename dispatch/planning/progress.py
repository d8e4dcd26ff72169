"""What a long run reports, and when it stops."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Progress:
    """Where a search stands: rounds done and to do, cost and unplaced visits of the best plan."""

    iteration: int
    iterations: int
    best_cost_s: int
    unplaced: int


Report = Callable[[Progress], None]
ShouldStop = Callable[[], bool]


def silent(_: Progress) -> None:
    """Report to nobody."""


def never() -> bool:
    """Do not stop early."""
    return False
