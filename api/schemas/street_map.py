"""JSON of the street map."""

from __future__ import annotations

from pydantic import BaseModel, Field

from dispatch.drive.graph import MapSummary


class MapOut(BaseModel):
    """The street map in numbers; bounds are degrees."""

    source: str
    nodes: int
    edges: int
    street_km: float = Field(description="both directions of a street counted once")
    turns: int
    addresses: int
    south: float
    west: float
    north: float
    east: float
    credit: str

    @classmethod
    def of(cls, summary: MapSummary, credit: str) -> MapOut:
        """The JSON of a map."""
        south, west, north, east = summary.bounds
        return cls(
            source=summary.source,
            nodes=summary.nodes,
            edges=summary.edges,
            street_km=round(summary.street_km, 1),
            turns=summary.turns,
            addresses=summary.addresses,
            south=south,
            west=west,
            north=north,
            east=east,
            credit=credit,
        )
