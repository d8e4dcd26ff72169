"""The picture under the routes: one PMTiles file that a page draws without any map server.

Holds one layer, `map`. Each feature has `kind` (road, water, green or building), `class` (such as
residential, lake, park) and, where the map has one, `name`. The data are OpenStreetMap's: whoever
shows them credits its contributors.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import osmium
import shapely

from dispatch.drive.osm import LOOKED_AT, stop_if, told_if_unreadable
from dispatch.drive.pmtiles import write_pmtiles

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from dispatch.drive.extract import Extract

LAYER = "map"
MIN_ZOOM = 9  # a metropolitan area on one screen
DETAIL_ZOOM = 12  # from here on every street is drawn; before it they would be a grey smear
MAX_ZOOM = 14  # a street of houses; pages enlarge the tiles beyond it, drawn to half a metre
THROUGH_ROADS = frozenset({"motorway", "trunk", "primary", "secondary", "tertiary"})

GREEN_LANDUSE = frozenset({"forest", "grass", "meadow", "cemetery", "recreation_ground", "orchard"})
GREEN_LEISURE = frozenset({"park", "garden", "golf_course", "nature_reserve", "pitch"})
GREEN_NATURAL = frozenset({"wood", "scrub", "grassland", "heath"})


def write_basemap(
    source: Path | None,
    extract: Extract,
    file: Path,
    should_stop: Callable[[], bool] = lambda: False,
) -> None:
    """Write the picture of an extract.

    Parameters
    ----------
    source
        The extract; its water, parks, woods and rivers are read in a pass of their own. None where
        there are none, as in a GraphML file.
    extract
        The extract's streets, drivable core or not.
    file
        Ends in .pmtiles.
    should_stop
        Asked while reading and before drawing.

    Raises
    ------
    UnreadableMap
        When the extract cannot be read.
    Cancelled
        When it should stop.
    """
    rows = [*_surfaces(source, should_stop), *_roads(extract)] if source else _roads(extract)
    parts = []
    for low, high, drawn in (
        (MIN_ZOOM, DETAIL_ZOOM - 1, [row for row in rows if _seen_from_afar(row)]),
        (DETAIL_ZOOM, MAX_ZOOM, rows),
    ):
        stop_if(should_stop)
        if drawn:
            parts.append(file.with_name(f"zoom-{low}.mbtiles"))
            _draw(drawn, parts[-1], low, high)
    west, south = extract.line.min(axis=0).tolist()
    east, north = extract.line.max(axis=0).tolist()
    write_pmtiles(parts, file, (south, west, north, east))
    for part in parts:
        part.unlink()


def _seen_from_afar(row: dict[str, Any]) -> bool:
    return row["kind"] != "road" or row["class"] in THROUGH_ROADS


def _draw(rows: list[dict[str, Any]], file: Path, low: int, high: int) -> None:
    """Let GDAL cut the rows into tiles of some zoom levels."""
    import geopandas
    import pyogrio

    frame = geopandas.GeoDataFrame(
        {column: [row[column] for row in rows] for column in ("kind", "class", "name")},
        geometry=[row["geometry"] for row in rows],
        crs="EPSG:4326",
    )
    pyogrio.write_dataframe(
        frame,
        file,
        layer=LAYER,
        driver="MBTiles",
        dataset_options={"MINZOOM": low, "MAXZOOM": high},
    )


def _roads(extract: Extract) -> list[dict[str, Any]]:
    """Return one row for each street: its pieces of one class and name, merged where they meet.

    Pieces that do not meet stay apart: one row of all nameless service roads would be cut anew for
    every tile.
    """
    rows = np.repeat(np.arange(len(extract.way)), np.diff(extract.line_start))
    lines = shapely.linestrings(extract.line, indices=rows)
    streets: dict[tuple[str, str], list[Any]] = {}
    for line, street, name in zip(
        lines, extract.street.tolist(), extract.name.tolist(), strict=True
    ):
        key = (extract.streets[street].highway, extract.names[name])
        streets.setdefault(key, []).append(line)
    return [
        _row("road", highway, name, line)
        for (highway, name), parts in sorted(streets.items())
        for line in shapely.get_parts(shapely.line_merge(shapely.MultiLineString(parts)))
    ]


def _surfaces(source: Path, should_stop: Callable[[], bool]) -> list[dict[str, Any]]:
    """Return water and green surfaces and the lines of rivers."""
    rows = []
    factory = osmium.geom.WKBFactory()
    wanted = osmium.filter.KeyFilter("natural", "water", "waterway", "landuse", "leisure")
    with told_if_unreadable(source):
        things: Any = osmium.FileProcessor(str(source)).with_areas(wanted).with_filter(wanted)
        for count, thing in enumerate(things):
            if count % LOOKED_AT == 0:
                stop_if(should_stop)
            tags = dict(thing.tags)
            kind, name = _surface_kind(tags), tags.get("name", "")
            if thing.is_area() and kind:
                shape = shapely.from_wkb(factory.create_multipolygon(thing))
                rows.append(_row(kind[0], kind[1], name, shape))
            elif thing.is_way() and tags.get("waterway") in {"river", "canal", "stream"}:
                shape = _line(thing)
                if shape is not None:
                    rows.append(_row("water", tags["waterway"], name, shape))
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
