"""Marks of technicians on map and tables: a colour, a dash and letters of their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dispatch.technicians import Technician

COLOURS = 7  # colours in page.css that people with any kind of colour vision tell apart


@dataclass(frozen=True, slots=True)
class Mark:
    """How a technician is told apart: `colour` 1 to 7, `dash` 1 up, and unique `letters`."""

    technician: Technician
    colour: int
    dash: int
    letters: str


def marks_of(technicians: Sequence[Technician]) -> dict[str, Mark]:
    """Marks by technician id; the letters are the fewest of the names that tell all apart."""
    letters = _letters([technician.name for technician in technicians])
    return {
        technician.id: Mark(
            technician,
            colour=index % COLOURS + 1,
            # with the eighth technician colours begin again, dashes one further
            dash=(index + index // COLOURS) % COLOURS + 1,
            letters=letters[index],
        )
        for index, technician in enumerate(technicians)
    }


def _letters(names: Sequence[str]) -> list[str]:
    chosen: list[str] = []
    for name in names:
        for candidate in _candidates(name):
            if candidate not in chosen:
                chosen.append(candidate)
                break
    return chosen


def _candidates(name: str) -> list[str]:
    words = name.split()
    initials = "".join(word[0] for word in words).upper()
    tail = words[-1][1:].lower() if words else ""
    lettered = [initials[:1], initials[:2], *(initials[:1] + letter for letter in tail)]
    return [*lettered, *(f"{initials[:1]}{number}" for number in range(2, 1000))]
