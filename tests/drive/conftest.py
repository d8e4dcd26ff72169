"""The Helsinki extract that pyrosm carries: © OpenStreetMap contributors, ODbL 1.0."""

from __future__ import annotations

import random
from pathlib import Path

import pyrosm
import pytest

from dispatch.drive.build import build_road_map
from dispatch.drive.graph import RoadMap, load_road_map
from dispatch.drive.snap import Snap, snap_all
from dispatch.places import Place


@pytest.fixture(scope="session")
def helsinki_file() -> Path:
    return Path(pyrosm.__file__).parent / "data" / "Helsinki.osm.pbf"


@pytest.fixture(scope="session")
def helsinki_folder(helsinki_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("helsinki")
    build_road_map(helsinki_file, folder)
    return folder


@pytest.fixture(scope="session")
def helsinki(helsinki_folder: Path) -> RoadMap:
    return load_road_map(helsinki_folder)


@pytest.fixture(scope="session")
def helsinki_places(helsinki: RoadMap) -> dict[str, Snap]:
    """Eighty places within a few metres of streets, the same on every run."""
    chance = random.Random(7)
    places = {}
    for i in range(80):
        lon, lat = helsinki.line(chance.randrange(len(helsinki.tail)))[0]
        places[f"site:S{i:03}"] = Place(
            lat=float(lat) + chance.uniform(-3e-4, 3e-4),
            lon=float(lon) + chance.uniform(-3e-4, 3e-4),
        )
    snaps, problems = snap_all(helsinki, places)
    assert not problems
    return snaps
