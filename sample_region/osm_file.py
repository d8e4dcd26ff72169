"""Writes a town as an OpenStreetMap file."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import osmium
from osmium.osm import mutable

from sample_region.plane import to_lat_lon
from sample_region.sheet import Area, Sheet
from sample_region.town import NAME, Town

FIRST_ID = 1001  # of nodes, ways and relations alike


def write_streets(town: Town, file: Path) -> None:
    """Write streets, areas and addresses, sorted by kind and id; an existing file is replaced."""
    file.unlink(missing_ok=True)
    header = osmium.io.Header()
    header.set("generator", "sample_region: an invented town, not OpenStreetMap data")
    with osmium.SimpleWriter(str(file), header=header) as writer:
        area_rings = _write_nodes(writer, town)
        _write_ways(writer, town.sheet, area_rings)
        _write_restrictions(writer, town.sheet)


def _node(number: int, point: tuple[float, float], tags: dict[str, str]) -> mutable.Node:
    lat, lon = to_lat_lon(point)
    return mutable.Node(id=number, location=(lon, lat), tags=tags, version=1)


def _write_nodes(writer: osmium.SimpleWriter, town: Town) -> list[list[int]]:
    """Write all nodes; returns the ids of the nodes of each area's ring."""
    sheet = town.sheet
    for place, point in enumerate(sheet.points):
        writer.add_node(_node(FIRST_ID + place, point, sheet.node_tags.get(place, {})))
    free = FIRST_ID + len(sheet.points)
    rings = []
    for area in sheet.areas:
        ring = list(range(free, free + len(area.polygon.exterior.coords) - 1))
        for number, (x, y) in zip(ring, area.polygon.exterior.coords, strict=False):
            writer.add_node(_node(number, (x, y), {}))
        rings.append([*ring, free])
        free += len(ring)
    for number, house in enumerate(town.houses, start=free):
        tags = {
            "addr:housenumber": str(house.number),
            "addr:street": house.street,
            "addr:city": NAME,
        }
        writer.add_node(_node(number, house.place, tags))
    return rings


def _write_ways(writer: osmium.SimpleWriter, sheet: Sheet, rings: Iterable[list[int]]) -> None:
    for place, way in enumerate(sheet.ways):
        nodes = [FIRST_ID + n for n in way.nodes]
        writer.add_way(mutable.Way(id=FIRST_ID + place, nodes=nodes, tags=way.tags, version=1))
    first = FIRST_ID + len(sheet.ways)
    areas: list[Area] = sheet.areas
    for number, (area, ring) in enumerate(zip(areas, rings, strict=True), start=first):
        writer.add_way(mutable.Way(id=number, nodes=ring, tags=area.tags, version=1))


def _write_restrictions(writer: osmium.SimpleWriter, sheet: Sheet) -> None:
    for place, rule in enumerate(sheet.restrictions):
        members = [
            ("w", FIRST_ID + rule.from_way, "from"),
            ("n", FIRST_ID + rule.via, "via"),
            ("w", FIRST_ID + rule.to_way, "to"),
        ]
        tags = {"type": "restriction", "restriction": rule.rule}
        writer.add_relation(
            mutable.Relation(id=FIRST_ID + place, members=members, tags=tags, version=1)
        )
