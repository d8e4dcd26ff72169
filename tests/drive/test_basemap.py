"""The picture of the map in one file."""

from __future__ import annotations

from pathlib import Path

import pyogrio

from dispatch.drive.basemap import LAYER
from dispatch.drive.build import build_road_map
from dispatch.drive.graph import BASEMAP_FILE
from tests.drive.drawing import roads


def test_helsinki_has_named_streets_and_parks(helsinki_folder: Path) -> None:
    """Read back by GDAL: what the pages draw is in the one layer."""
    file = helsinki_folder / BASEMAP_FILE
    assert file.read_bytes()[:7] == b"PMTiles"  # the magic number of the format
    features = pyogrio.read_dataframe(file, layer=LAYER)
    assert {"road", "green"} <= set(features["kind"])
    assert "Mannerheimintie" in set(features["name"])
    assert "primary" in set(features.loc[features["kind"] == "road", "class"])


def test_streets_cut_off_from_the_rest_are_drawn_too(tmp_path: Path) -> None:
    """What is not driven on is still on the ground."""
    drawing = roads("""
a---b...p---q
|   |........
d---c........
""")
    build_road_map(drawing.write(tmp_path), tmp_path)
    features = pyogrio.read_dataframe(tmp_path / BASEMAP_FILE, layer=LAYER)
    assert "pq street" in set(features["name"])


def test_water_and_woods_of_a_map(tmp_path: Path) -> None:
    """Surfaces come from closed ways; a river is a line."""
    drawing = roads("""
a---b---p---r
|   |   |   |
d---c---q---t
""")
    drawing.streets["prtqp"] = {"natural": "water", "water": "lake", "name": "Mill Lake"}
    drawing.streets["bpqcb"] = {"landuse": "forest"}
    drawing.streets["ac"] = {"waterway": "river", "name": "Mill River"}
    build_road_map(drawing.write(tmp_path), tmp_path)
    features = pyogrio.read_dataframe(tmp_path / BASEMAP_FILE, layer=LAYER)
    kinds = set(zip(features["kind"], features["class"], features["name"].fillna(""), strict=True))
    assert ("water", "lake", "Mill Lake") in kinds
    assert ("water", "river", "Mill River") in kinds
    assert ("green", "forest", "") in kinds
