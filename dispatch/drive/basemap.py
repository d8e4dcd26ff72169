"""The picture under the routes: one PMTiles file that a page draws without any map server.

Holds one layer, `map`. Each feature has `kind` (road, water, green or building), `class` (such as
residential, lake, park) and, where the map has one, `name`. The data are OpenStreetMap's: whoever
shows them credits its contributors.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import osmium
import shapely

from dispatch.drive.osm import unreadable

if TYPE_CHECKING:
    from pathlib import Path

    import networkx as nx

LAYER = "map"
MIN_ZOOM = 9  # a metropolitan area on one screen
MAX_ZOOM = 15  # a street of houses; pages enlarge the tiles beyond it

GREEN_LANDUSE = frozenset({"forest", "grass", "meadow", "cemetery", "recreation_ground", "orchard"})
GREEN_LEISURE = frozenset({"park", "garden", "golf_course", "nature_reserve", "pitch"})
GREEN_NATURAL = frozenset({"wood", "scrub", "grassland", "heath"})


def write_basemap(source: Path, graph: nx.MultiDiGraph, file: Path) -> None:
    """Write the picture of an extract.

    Parameters
    ----------
    source
        The extract; its water, parks, woods and rivers are read in a pass of their own.
    graph
        The extract's streets, drivable core or not.
    file
        Ends in .pmtiles.

    Raises
    ------
    UnreadableMap
        When the extract cannot be read.
    """
    import geopandas
    import pyogrio

    rows = [*_surfaces(source), *_roads(graph)]
    frame = geopandas.GeoDataFrame(
        {column: [row[column] for row in rows] for column in ("kind", "class", "name")},
        geometry=[row["geometry"] for row in rows],
        crs="EPSG:4326",
    )
    pyogrio.write_dataframe(
        frame,
        file,
        layer=LAYER,
        driver="PMTiles",
        dataset_options={"MINZOOM": MIN_ZOOM, "MAXZOOM": MAX_ZOOM},
    )


def _roads(graph: nx.MultiDiGraph) -> list[dict[str, Any]]:
    """Return one row for each street: its pieces merged, each drawn in one direction only."""
    lines: dict[tuple[str, str], list[Any]] = {}
    drawn: set[Any] = set()
    for _, _, data in graph.edges(data=True):
        piece = (data["osmid"], data["piece"])
        if piece not in drawn:
            drawn.add(piece)
            lines.setdefault((data["highway"], data.get("name", "")), []).append(data["geometry"])
    return [
        _row("road", highway, name, shapely.line_merge(shapely.MultiLineString(parts)))
        for (highway, name), parts in sorted(lines.items())
    ]


def _surfaces(source: Path) -> list[dict[str, Any]]:
    """Return water and green surfaces and the lines of rivers."""
    rows = []
    factory = osmium.geom.WKBFactory()
    wanted = osmium.filter.KeyFilter("natural", "water", "waterway", "landuse", "leisure")
    try:
        things: Any = osmium.FileProcessor(str(source)).with_areas(wanted).with_filter(wanted)
        for thing in things:
            tags = dict(thing.tags)
            kind, name = _surface_kind(tags), tags.get("name", "")
            if thing.is_area() and kind:
                shape = shapely.from_wkb(factory.create_multipolygon(thing))
                rows.append(_row(kind[0], kind[1], name, shape))
            elif thing.is_way() and tags.get("waterway") in {"river", "canal", "stream"}:
                shape = _line(thing)
                if shape is not None:
                    rows.append(_row("water", tags["waterway"], name, shape))
    except (RuntimeError, ValueError, OSError) as error:
        raise unreadable(source, error) from error
    return rows


def _surface_kind(tags: dict[str, str]) -> tuple[str, str] | None:
    if tags.get("natural") == "water" or tags.get("waterway") == "riverbank":
        return "water", tags.get("water", "water")
    for key, values in (
        ("landuse", GREEN_LANDUSE),
        ("leisure", GREEN_LEISURE),
        ("natural", GREEN_NATURAL),
    ):
        if tags.get(key) in values:
            return "green", tags[key]
    return None


def _line(way: Any) -> Any:
    points = [(n.location.lon, n.location.lat) for n in way.nodes if n.location.valid()]
    return shapely.LineString(points) if len(points) > 1 else None


def _row(kind: str, kind_class: str, name: str, geometry: Any) -> dict[str, Any]:
    return {"kind": kind, "class": kind_class, "name": name or None, "geometry": geometry}
