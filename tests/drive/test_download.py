"""Maps from the internet, asked of a stand-in on this machine."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import osmnx
import pytest

from dispatch.drive.compact import compact
from dispatch.drive.download import download_extract, parse_box
from dispatch.drive.osm import read_streets
from dispatch.errors import InvalidValue, MapError, NoStreets
from tests.drive.drawing import NO_DELAYS, Drawing, roads
from tests.drive.stand_in import StandIn

BOX = (-0.01, -0.01, 0.01, 0.01)


def drawn() -> Drawing:
    drawing = roads("""
a---b---c
|   |   |
d---e---f
""")
    drawing.rules = [("no_left_turn", "bc", "b", "be"), ("no_left_turn", "ab", "be", "ef")]
    drawing.point_tags["e"] = {"highway": "traffic_signals"}
    drawing.houses = [("12", "Oak Street", "Millbrook", drawing.points["d"])]
    return drawing


@pytest.fixture
def stand_in(tmp_path: Path) -> Iterator[StandIn]:
    served = StandIn(drawn(), tmp_path)
    yield served
    served.server.shutdown()


@pytest.mark.parametrize("area", [BOX, "Millbrook"])
def test_a_downloaded_map_is_the_map_of_the_file(
    area: str | tuple[float, float, float, float], stand_in: StandIn, tmp_path: Path
) -> None:
    """With its turn rules, signals and addresses, asked for by box and by name."""
    file = download_extract(area, tmp_path / "new", f"{stand_in.url}/api", f"{stand_in.url}/")
    maps = [compact(read_streets(one), NO_DELAYS, "same") for one in (file, tmp_path / "drawn.osm")]
    assert maps[0].digest == maps[1].digest
    assert maps[0].addresses == maps[1].addresses
    assert len(maps[0].copy_of) == 1
    assert any("Millbrook" in words for words in stand_in.asked) == isinstance(area, str)


def test_settings_of_osmnx_are_as_before(stand_in: StandIn, tmp_path: Path) -> None:
    """Whoever uses OSMnx in the same process is not sent elsewhere."""
    before = (osmnx.settings.overpass_url, osmnx.settings.cache_only_mode)
    stand_in.broken = True
    with pytest.raises(MapError, match="could not be downloaded"):
        download_extract(BOX, tmp_path / "new", f"{stand_in.url}/api", f"{stand_in.url}/")
    assert (osmnx.settings.overpass_url, osmnx.settings.cache_only_mode) == before


def test_a_place_without_streets_is_told(stand_in: StandIn, tmp_path: Path) -> None:
    """The sea, for instance."""
    stand_in.elements = []
    with pytest.raises(NoStreets, match="no street in"):
        download_extract(BOX, tmp_path / "new", f"{stand_in.url}/api", f"{stand_in.url}/")


@pytest.mark.parametrize(
    "text", ["1,2,3", "a,b,c,d", "2,1,1,2", "1,2,2,1", "-100,0,-99,1", "1,2,2,200", ""]
)
def test_boxes_that_are_none_are_told(text: str) -> None:
    """South, west, north, east, in this order."""
    assert parse_box("33.4,-112.1,33.5,-111.95") == (33.4, -112.1, 33.5, -111.95)
    with pytest.raises(InvalidValue, match="--bbox 33"):
        parse_box(text)
