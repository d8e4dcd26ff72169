"""Reading the streets and addresses of an OpenStreetMap extract in one pass.

The pass keeps a whitelist of drivable classes and hands over streets cut wherever two of them
meet. Ways of a clipped extract lose the points that lie outside.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np

from dispatch.drive.cut import Points, Raw, cut
from dispatch.drive.extract import Address, Extract, TurnRule, WayRule
from dispatch.drive.house_ranges import take_ranges
from dispatch.drive.packing import MOST_UNPACKED_BYTES, check_packing
from dispatch.drive.tags import (
    barrier_of,
    control_direction_of,
    control_of,
    street_of,
    turn_rule_of,
)
from dispatch.errors import Cancelled, NoStreets, UnreadableMap
from dispatch.words import N_, _

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    import numpy.typing as npt

__all__ = ["Address", "Extract", "TurnRule", "WayRule", "read_streets", "told_if_unreadable"]

ENDINGS = (".osm", ".osm.gz", ".osm.bz2", ".osm.pbf")
KEYS = (
    *("highway", "barrier", "railway", "addr:housenumber", "addr:interpolation"),
    *("restriction", "restriction:motorcar", "restriction:motor_vehicle"),
    *("restriction:conditional", "restriction:motorcar:conditional"),
)
RULES_LEFT_OUT = {
    "conditional": N_("turn rules that hold at some hours only"),
    "exempt": N_("turn rules from which cars are excepted"),
    "unknown": N_("turn rules of an unknown kind"),
}
LOOKED_AT = 10_000  # things read between two looks at whether to stop; a few hundredths of a second


def read_streets(
    file: Path,
    progress: Callable[[str], None] = lambda _: None,
    should_stop: Callable[[], bool] = lambda: False,
    most_unpacked_bytes: int = MOST_UNPACKED_BYTES,
) -> Extract:
    """Read an extract.

    Parameters
    ----------
    file
        An OpenStreetMap file ending in .osm, .osm.gz, .osm.bz2 or .osm.pbf.
    progress
        Called with a few words at each stage; an exception from it stops the reading.
    should_stop
        Asked many times a second.
    most_unpacked_bytes
        A file that unpacks to more is refused.

    Raises
    ------
    UnreadableMap
        When the file is missing, no such map, broken off, lacks the places of its points, or
        unpacks to more than a map of its size can.
    NoStreets
        When it holds no street that can be driven.
    Cancelled
        When it should stop.
    """
    check_ending(file)
    progress(_("Reading {name}").format(name=file.name))
    check_packing(file, most_unpacked_bytes)
    raw, points = _read(file, should_stop)
    if not raw.way:
        raise NoStreets(
            _(
                "{file} holds no street that can be driven. Export an area with streets in it, "
                "with all its ways and not the points of interest alone."
            ).format(file=file)
        )
    progress(_("Cutting {number:,} streets at their junctions").format(number=len(raw.way)))
    extract = cut(raw, points)
    if np.isnan(points.lon[np.searchsorted(points.ref, raw.lines.refs)]).all():
        raise UnreadableMap(
            _(
                "{file} has streets, but none of their points has a place. The file may be an "
                "excerpt without its nodes, or have latitude and longitude swapped: export it "
                "again with nodes, ways and relations."
            ).format(file=file)
        )
    if len(extract.way) == 0:
        raise NoStreets(
            _(
                "{file}: every street of the map has both ends in one place; export it again."
            ).format(file=file)
        )
    return extract


def check_ending(file: Path) -> None:
    """Refuse a file that is missing, empty or of no known ending.

    Raises
    ------
    UnreadableMap
        With the endings that can be read.
    """
    if not file.is_file():
        raise UnreadableMap(
            _("There is no file {file}. Give the path of an OpenStreetMap extract.").format(
                file=file
            )
        )
    if not file.name.lower().endswith(ENDINGS):
        raise UnreadableMap(
            _(
                "{file} does not end like an OpenStreetMap extract. Files ending in {endings} "
                "can be read."
            ).format(file=file, endings=", ".join(ENDINGS))
        )
    if file.stat().st_size == 0:
        raise UnreadableMap(
            _("{file} is empty. Download or export the extract again.").format(file=file)
        )


@contextmanager
def told_if_unreadable(file: Path) -> Iterator[None]:
    """Raise UnreadableMap, with a sentence, where the reader gives up on a file."""
    import osmium

    try:
        yield
    except (RuntimeError, ValueError, OSError, osmium.InvalidLocationError) as error:
        raise UnreadableMap(
            _(
                "{file} cannot be read as an OpenStreetMap extract: {rstrip}. It may be broken off "
                "in a download, or be of another kind than its ending says: download or export it "
                "again."
            ).format(file=file, rstrip=str(error).strip().rstrip("."))
        ) from error


def stop_if(should_stop: Callable[[], bool]) -> None:
    """Raise Cancelled when a build should stop."""
    if should_stop():
        raise Cancelled(_("Building the street map was stopped; the map that was there stays."))


def _read(file: Path, should_stop: Callable[[], bool]) -> tuple[Raw, Points]:
    import osmium

    raw = Raw()
    wanted = osmium.filter.KeyFilter(*KEYS)
    with told_if_unreadable(file):
        reader: Any = osmium.FileProcessor(str(file))
        box = reader.header.box()
        things = reader.with_locations().with_filter(wanted)
        for count, thing in enumerate(things):
            if count % LOOKED_AT == 0:
                stop_if(should_stop)
            if thing.is_node():
                _take_node(raw, thing)
            elif thing.is_way():
                _take_way(raw, thing)
            elif thing.is_relation():
                _take_relation(raw, thing)
        points = _points(raw, things.node_location_storage)
    _check_box(file, box, points)
    _place_houses(raw, points)
    take_ranges(raw, points)
    return raw, points


def _take_node(raw: Raw, node: Any) -> None:
    tags = dict(node.tags)
    control = control_of(tags)
    if control:
        raw.controls[node.id] = (control, control_direction_of(tags))
    barrier = barrier_of(tags)
    if barrier:
        raw.barriers[node.id] = barrier
    if "addr:housenumber" in tags and node.location.valid():
        _take_address(raw, tags, node.lon, node.lat, node.id)


def _take_way(raw: Raw, way: Any) -> None:
    tags = dict(way.tags)
    street = street_of(tags)
    if street is not None:
        raw.way.append(way.id)
        raw.street.append(raw.streets.setdefault(street.without_name, len(raw.streets)))
        raw.name.append(raw.names.setdefault(street.name, len(raw.names)))
        raw.lines.add([node.ref for node in way.nodes])
    elif "addr:housenumber" in tags:
        raw.houses.append(tags)
        raw.house_lines.add([node.ref for node in way.nodes])
    elif "addr:interpolation" in tags:
        raw.ranges.append(tags["addr:interpolation"])
        raw.range_lines.add([node.ref for node in way.nodes])


def _take_relation(raw: Raw, relation: Any) -> None:
    tags = dict(relation.tags)
    if tags.get("type", "").partition(":")[0] != "restriction":
        return
    rule = turn_rule_of(tags)
    if rule in RULES_LEFT_OUT:
        raw.left_out[RULES_LEFT_OUT[rule]] += 1
        return
    members: dict[str, list[tuple[str, int]]] = {}
    for member in relation.members:
        members.setdefault(member.role, []).append((member.type, member.ref))
    via = members.get("via", [])
    kinds = {kind for kind, _ in via}
    by_node = kinds == {"n"} and len(via) == 1
    if not (by_node or kinds == {"w"}) or not (members.get("from") and members.get("to")):
        raw.left_out[N_("turn rules that are incomplete")] += 1
        return
    only, ways = rule == "only", tuple(ref for _, ref in via)
    for _rest, from_way in members["from"]:
        for _rest, to_way in members["to"]:
            if by_node:
                raw.turn_rules.append(TurnRule(only, from_way, via[0][1], to_way))
            else:
                raw.way_rules.append(WayRule(only, from_way, ways, to_way))


def _points(raw: Raw, places: Any) -> Points:
    """Look up the places of all points of the ways that were taken."""
    lines = (raw.lines, raw.house_lines, raw.range_lines)
    ref = np.unique(np.concatenate([np.frombuffer(one.refs, dtype=np.int64) for one in lines]))
    lon, lat = np.full(len(ref), np.nan), np.full(len(ref), np.nan)
    for i, one in enumerate(ref.tolist()):
        try:
            place = places.get(one)
        except KeyError:
            continue
        if place.valid():
            lon[i], lat[i] = place.lon_without_check(), place.lat_without_check()
    return Points(ref, lon, lat)


def _check_box(file: Path, box: Any, points: Points) -> None:
    """Refuse a file whose points all lie outside the box that its own header names.

    Points without a place are passed over.
    """
    placed = ~np.isnan(points.lon)
    if not box.valid() or not placed.any():
        return
    west, south, east, north = (
        *(box.bottom_left.lon, box.bottom_left.lat),
        *(box.top_right.lon, box.top_right.lat),
    )
    inside = (points.lon >= west) & (points.lon <= east)
    inside &= (points.lat >= south) & (points.lat <= north)
    if not inside.any():
        raise UnreadableMap(
            _(
                "{file} says that it covers latitude {south:.4f} to {north:.4f} and longitude "
                "{west:.4f} to {east:.4f}, but none of the {sum:,} points of its streets lies "
                "there. Latitude and longitude may be swapped: export it again."
            ).format(
                file=file, south=south, north=north, west=west, east=east, sum=int(placed.sum())
            )
        )


def _place_houses(raw: Raw, points: Points) -> None:
    """Put each building with a house number at the middle of its corners."""
    if not raw.houses:
        return
    corner = np.searchsorted(points.ref, np.frombuffer(raw.house_lines.refs, dtype=np.int64))
    first = 0
    for tags, count in zip(raw.houses, raw.house_lines.counts, strict=True):
        corners = corner[first : first + count]
        first += count
        if count > 1 and corners[0] == corners[-1]:
            corners = corners[:-1]
        lon, lat = _known(points.lon[corners]), _known(points.lat[corners])
        if len(lon):
            _take_address(raw, tags, float(lon.mean()), float(lat.mean()))


def _known(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return values[~np.isnan(values)]


def _take_address(raw: Raw, tags: dict[str, str], lon: float, lat: float, node: int = 0) -> None:
    street = tags.get("addr:street") or tags.get("addr:place", "")
    number, town = tags["addr:housenumber"], tags.get("addr:city", "")
    if street:
        raw.addresses.append(Address(street, number, town, tags.get("addr:postcode", ""), lat, lon))
        raw.address_node.append(node)
