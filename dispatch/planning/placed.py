"""A visit in a route, as the search and what reads its answer name it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Placed:
    """One visit in a route: demand by position, visit by number (0, 1 ...), and its riders."""

    demand: int
    visit: int
    riders: tuple[int, ...]
