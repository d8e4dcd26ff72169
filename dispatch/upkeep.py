"""Upkeep: maintenance of equipment, due in a window of days and done on an ordinary visit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispatch.errors import InvalidValue


@dataclass(frozen=True, slots=True)
class Part:
    """A part or material to load: how many of it and its mass altogether, in kg."""

    name: str
    quantity: float
    mass_kg: float


@dataclass(frozen=True, slots=True)
class UpkeepDue:
    """One upkeep of one site that may, should or must be done in a week.

    It may be done from `earliest_on`, should be done on `due_on` and must be done by `latest_on`.
    `minutes` are added to the visit that carries it. `waste_kg` is what the truck brings back
    (wet sand is heavier than the dry sand that replaces it). `kind` is the id of its rule.
    """

    site_id: str
    kind: str
    title: str
    earliest_on: date
    due_on: date
    latest_on: date
    minutes: int
    skill: str | None = None
    parts: tuple[Part, ...] = ()
    waste_kg: float = 0.0
    caution: str = ""

    def __post_init__(self) -> None:
        if not self.earliest_on <= self.due_on <= self.latest_on:
            raise InvalidValue(
                f"{self.title} at site {self.site_id}: earliest {self.earliest_on}, due "
                f"{self.due_on} and latest {self.latest_on} are not in this order."
            )

    @property
    def id(self) -> str:
        """Stable name, as 'S017/sand-change/2026-12-01'."""
        return f"{self.site_id}/{self.kind}/{self.due_on}"

    @property
    def mass_kg(self) -> float:
        """Payload it takes from a truck-day: the heavier of what goes out and what comes back."""
        return max(sum(part.mass_kg for part in self.parts), self.waste_kg)
