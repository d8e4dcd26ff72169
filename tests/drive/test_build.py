"""Building a map: what it leaves behind, and what it leaves alone."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from dispatch.drive.build import STREETS_FILE, build_road_map, load_streets
from dispatch.drive.graph import load_road_map
from dispatch.errors import Cancelled, MapError, NoMap, UnreadableMap
from tests.drive.drawing import roads
from tests.test_house import ROOT

SQUARE = """
a---b
|   |
d---c
"""


@pytest.mark.parametrize("asked", range(9))
def test_a_build_that_should_stop_leaves_the_old_map(asked: int, tmp_path: Path) -> None:
    """Stopped when asked for the first to the ninth time; even the smallest build asks so often."""
    folder = tmp_path / "map"
    old = build_road_map(roads(SQUARE).write(tmp_path), folder)
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    answers = iter([False] * asked + [True] * 100)
    with pytest.raises(Cancelled, match="the map that was there stays"):
        build_road_map(
            roads("a---b---c").write(tmp_path), folder, should_stop=lambda: next(answers)
        )
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == before
    assert load_road_map(folder).digest == old.digest


def test_a_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    """Found out before the extract is read."""
    (tmp_path / "map").write_text("not a folder")
    with pytest.raises(MapError, match=r"cannot be written into .*map.*DISPATCH_DATA_DIR"):
        build_road_map(tmp_path / "no such file.osm", tmp_path / "map")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_without_the_right_to_write_is_told(tmp_path: Path) -> None:
    """The commonest mistake of an installation."""
    tmp_path.chmod(0o500)
    with pytest.raises(MapError, match="Permission denied"):
        build_road_map(roads(SQUARE).write(tmp_path), tmp_path)


def test_the_streets_as_read_are_kept(tmp_path: Path) -> None:
    """They can be exported, and driven at other speeds, without the extract."""
    build_road_map(roads(SQUARE).write(tmp_path), tmp_path / "map")
    assert len(load_streets(tmp_path / "map").way) == 4
    with pytest.raises(NoMap, match="build one"):
        load_streets(tmp_path)
    (tmp_path / "map" / STREETS_FILE).write_bytes(b"damaged")
    with pytest.raises(UnreadableMap, match="damaged"):
        load_streets(tmp_path / "map")


def test_using_a_map_needs_none_of_the_libraries_that_build_it(
    helsinki_folder: Path, tmp_path: Path
) -> None:
    """They take seconds to import and memory to hold, and a service builds no maps."""
    program = f"""
import sys
from pathlib import Path
import dispatch.drive.matrix, dispatch.drive.paths, dispatch.drive.snap
from dispatch.drive.graph import load_road_map
from dispatch.places import Place
roads = load_road_map(Path({str(helsinki_folder)!r}))
lon, lat = roads.line(0)[0]
lon_b, lat_b = roads.line(900)[0]
places = {{"a": Place(lat=lat, lon=lon), "b": Place(lat=lat_b, lon=lon_b)}}
snaps, _ = dispatch.drive.snap.snap_all(roads, places)
dispatch.drive.matrix.drive_matrix(roads, snaps, Path({str(tmp_path)!r}))
dispatch.drive.paths.leg_line(roads, snaps["a"], snaps["b"])
print({{"networkx", "osmnx", "osmium", "geopandas", "pyogrio", "pandas"}} & set(sys.modules))
"""
    words = [sys.executable, "-c", program]
    done = subprocess.run(  # noqa: S603 - our own words
        words, cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.stdout == "set()\n", done.stderr


def test_the_hierarchy_of_the_map_before_is_removed(tmp_path: Path) -> None:
    """It bears the name of its map, and would stay for ever."""
    folder = tmp_path / "map"
    folder.mkdir()
    (folder / "hierarchy-0123.npz").write_bytes(b"of another map")
    build_road_map(roads(SQUARE).write(tmp_path), folder)
    assert not list(folder.glob("hierarchy-*"))
