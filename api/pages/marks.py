"""Marks of technicians on map and tables: a colour, a dash and letters of their own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_lowercase

from dispatch.technicians import Technician

NAMELESS = "T"  # initial of a name without any letter
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


def _candidates(name: str) -> Iterator[str]:
    """Letters for a name, the fewest and the most telling first.

    Without figures, for the number of a stop stands right behind them.
    """
    words = ["".join(filter(str.isalpha, word)) for word in name.split()]
    initials = "".join(word[:1] for word in words).upper() or NAMELESS
    first, tail = initials[0], "".join(word[1:] for word in reversed(words)).lower()
    yield from (first, initials[:2])
    yield from (first + letter for letter in tail + ascii_lowercase)
    yield from (first + a + b for a in ascii_lowercase for b in ascii_lowercase)
