"""JSON of the street map."""

from __future__ import annotations

from datetime import datetime

from pydantic import BaseModel, Field

from api.map_facts import MapFacts


class MapOut(BaseModel):
    """The street map in numbers; bounds are degrees."""

    source: str
    built_at: datetime
    nodes: int
    edges: int
    street_km: float = Field(description="both directions of a street counted once")
    turns: int
    addresses: int
    cut_off: int = Field(description="directed edges left out: no drive can both reach and leave")
    left_out: dict[str, int] = Field(description="what else of the extract was not taken")
    south: float
    west: float
    north: float
    east: float
    credit: str

    @classmethod
    def of(cls, facts: MapFacts, credit: str) -> MapOut:
        """The JSON of a map."""
        summary = facts.summary
        south, west, north, east = summary.bounds
        return cls(
            source=summary.source,
            built_at=facts.built_at,
            nodes=summary.nodes,
            edges=summary.edges,
            street_km=round(summary.street_km, 1),
            turns=summary.turns,
            addresses=summary.addresses,
            cut_off=summary.cut_off,
            left_out=dict(summary.left_out),
            south=south,
            west=west,
            north=north,
            east=east,
            credit=credit,
        )
