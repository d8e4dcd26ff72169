"""Building the street map: from a file to the folder that drive times are computed from."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from dispatch.drive.extract import Extract, load_extract, save_extract
from dispatch.drive.graph import (
    BASEMAP_FILE,
    ROADS_FILE,
    RoadMap,
    hierarchy_file,
    save_road_map,
)
from dispatch.drive.packing import MOST_UNPACKED_BYTES
from dispatch.drive.scratch import BUILDING, scratch_folder
from dispatch.drive.speeds import SpeedModel
from dispatch.drive.turn_graph import turn_graph
from dispatch.errors import Cancelled, MapError, NoMap, UnreadableMap
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Callable

STREETS_FILE = "streets.npz"
# Edges from which the hierarchy is made with the map: it takes seconds then, and more memory than
# a service should need, which otherwise makes it for its first matrix.
LARGE_MAP = 100_000


def build_road_map(
    file: Path,
    folder: Path,
    progress: Callable[[str], None] = lambda _: None,
    model: SpeedModel | None = None,
    should_stop: Callable[[], bool] = lambda: False,
    most_unpacked_bytes: int = MOST_UNPACKED_BYTES,
) -> RoadMap:
    """Read a map file, write `roads.npz`, `streets.npz` and `basemap.pmtiles` into a folder.

    A large map's hierarchy is kept beside them. All take the place of older ones only when they are
    whole; a failed or stopped build leaves the old map as it was. What a killed one left behind is
    removed by the next.

    Parameters
    ----------
    file
        An OpenStreetMap extract (.osm, .osm.gz, .osm.bz2 or .osm.pbf), or a .graphml file of OSMnx
        or of this program, which has no surfaces such as parks and lakes.
    folder
        Where the map is kept; made if missing.
    progress
        Called with a few words at each stage; an exception from it stops the build.
    model
        Speeds and delays; the table of `speeds` by default.
    should_stop
        Asked many times a second while reading, and between the other stages.
    most_unpacked_bytes
        A packed extract that unpacks to more is refused.

    Raises
    ------
    UnreadableMap, NoStreets
        When the file is no map, or has no street that can be driven.
    MapError
        When the folder cannot be written to.
    Cancelled
        When it should stop.
    """
    from dispatch.drive.basemap import write_basemap
    from dispatch.drive.compact import compact
    from dispatch.drive.hierarchy import stored_hierarchy

    def stage(words: str) -> None:
        if should_stop():
            raise Cancelled(_("Building the street map was stopped; the map that was there stays."))
        progress(words)

    _try_folder(folder)
    graphml = file.name.lower().endswith(".graphml")
    extract = _read(file, stage, should_stop, most_unpacked_bytes)
    stage(_("Speeds and turns for {number:,} pieces of street").format(number=len(extract.way)))
    road_map = compact(extract, model or SpeedModel(), file.name)
    try:
        with scratch_folder(folder, BUILDING) as new:
            stage(_("Drawing the map"))
            write_basemap(None if graphml else file, extract, new / BASEMAP_FILE, should_stop)
            stage(_("Storing the road map"))
            save_extract(extract, new / STREETS_FILE)
            save_road_map(road_map, new / ROADS_FILE)
            if len(road_map.tail) >= LARGE_MAP:
                stage(_("Ordering the streets by importance"))
                stored_hierarchy(turn_graph(road_map), hierarchy_file(road_map, new))
            stage(_("Putting the new map in place"))
            _put_in_place(new, folder)
    except OSError as error:
        raise _unwritable(folder, error) from error
    return road_map


def load_streets(folder: Path) -> Extract:
    """Return the streets of the map that was built into a folder, as they were read.

    Raises
    ------
    NoMap
        When none was built there.
    UnreadableMap
        When the file is damaged.
    """
    file = folder / STREETS_FILE
    if not file.is_file():
        raise NoMap(_("There is no street map in {folder} yet: build one.").format(folder=folder))
    try:
        return load_extract(file)
    except Exception as error:
        raise UnreadableMap(
            _(
                "The streets {file} are damaged ({error}). Build the map again: dispatch map "
                "build FILE.osm.pbf"
            ).format(file=file, error=error)
        ) from error


def _read(
    file: Path,
    stage: Callable[[str], None],
    should_stop: Callable[[], bool],
    most_unpacked_bytes: int,
) -> Extract:
    if file.name.lower().endswith(".graphml"):
        from dispatch.drive.osmnx_graph import read_graphml

        stage(_("Reading {name}").format(name=file.name))
        return read_graphml(file)
    from dispatch.drive.osm import read_streets

    return read_streets(file, stage, should_stop, most_unpacked_bytes)


def _put_in_place(new: Path, folder: Path) -> None:
    """Move the parts of a map into their folder, the streets last; remove what belonged to others.

    A hierarchy bears the name of its map, so that it never meets another one's.
    """
    ordered = [file.name for file in new.glob("hierarchy-*")]
    for part in (*ordered, BASEMAP_FILE, STREETS_FILE, ROADS_FILE):
        os.replace(new / part, folder / part)
    for file in folder.glob("hierarchy-*"):
        if file.name not in ordered:
            file.unlink(missing_ok=True)


def _try_folder(folder: Path) -> None:
    """Make the folder and write to it, before an hour's reading shows that it cannot be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise _unwritable(folder, error) from error


def _unwritable(folder: Path, error: OSError) -> MapError:
    return MapError(
        _(
            "The street map cannot be written into {folder}: {strerror}. Free some space, or "
            "choose another data folder with DISPATCH_DATA_DIR."
        ).format(folder=folder, strerror=error.strerror or error)
    )
