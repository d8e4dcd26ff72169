"""House numbers along the streets."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

from shapely.geometry import LineString, Point

from sample_region.town import NAME
from tests.sample_region.region_file import RegionFile


def numbered(region: RegionFile) -> list[tuple[int, str, tuple[float, float]]]:
    return [
        (int(tags["addr:housenumber"]), tags["addr:street"], region.plane(node))
        for node, tags in region.node_tags.items()
        if "addr:housenumber" in tags
    ]


def test_an_address_names_one_house(region: RegionFile) -> None:
    """Sites are found by address, so an address must lead to one point."""
    houses = numbered(region)
    assert 8_000 <= len(houses) <= 17_000
    assert len({(number, street) for number, street, _ in houses}) == len(houses)
    assert {t["addr:city"] for t in region.node_tags.values() if "addr:city" in t} == {NAME}


def test_odd_and_even_numbers_stand_on_opposite_sides_and_grow_along_the_street(
    region: RegionFile,
) -> None:
    """Technicians and interpolation between house numbers rely on it."""
    lines = {
        tags["name"]: LineString([region.plane(n) for n in nodes])
        for nodes, tags in region.streets.values()
        if tags["highway"] == "residential"
    }
    along = defaultdict(list)
    for number, street, spot in numbered(region):
        line = lines[street]
        at_m = line.project(Point(spot))
        a, b = line.interpolate(max(0.0, at_m - 1)), line.interpolate(at_m + 1)
        left = (b.x - a.x) * (spot[1] - a.y) - (b.y - a.y) * (spot[0] - a.x) > 0
        assert left == (number % 2 == 1), (number, street)
        assert 11 < line.distance(Point(spot)) < 21  # metres
        along[street, left].append((number, at_m))
    gaps = []
    for found in along.values():
        stations = [at_m for _, at_m in sorted(found)]
        gaps += [b - a for a, b in pairwise(stations)]
    assert min(gaps) > 0
    ordinary = sorted(gaps)[len(gaps) // 10 : len(gaps) * 8 // 10]
    assert ordinary[0] > 16
    assert ordinary[-1] < 27
