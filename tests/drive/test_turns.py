"""Single turns at junctions, on drawn maps."""

from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.drive.matrix import compute_matrix
from dispatch.drive.snap import snap_all
from tests.drive.drawing import Drawing, roads

CROSS = """
.   n   .
.   |   .
w---x---e
.   |   .
.   s   .
"""


def metres(drawing: Drawing, folder: Path, start: str, end: str) -> int:
    places = {"from": drawing.at(start, 0.5), "to": drawing.at(end, 0.5)}
    road_map = drawing.road_map(folder)
    snaps, _ = snap_all(road_map, places)
    return compute_matrix(road_map, snaps, "scipy").drive("from", "to")[1]


@pytest.mark.parametrize(
    ("rule", "far"),
    [
        (("no_left_turn", "wx", "x", "nx"), True),
        (("no_right_turn", "wx", "x", "xs"), False),
        (("only_straight_on", "wx", "x", "xe"), True),
        (("only_left_turn", "wx", "x", "nx"), False),
        (("no_left_turn except=motorcar", "wx", "x", "nx"), False),
        (("no_left_turn except=psv", "wx", "x", "nx"), True),
    ],
)
def test_a_rule_at_a_point(rule: tuple[str, str, str, str], far: bool, tmp_path: Path) -> None:
    """Left from wx into nx is 100 m; else on to the end of xe or xs, about, and back: 300 m."""
    drawing = roads(CROSS)
    drawing.rules = [rule]
    assert metres(drawing, tmp_path, "wx", "nx") == (300 if far else 100)


def turning_about(drawing: Drawing, folder: Path, point: str) -> int:
    """Count the turns on the spot at a point."""
    road_map = drawing.road_map(folder)
    lon = drawing.points[point].lon
    return sum(
        bool(road_map.twin[a] == b) and abs(road_map.node_lon[road_map.head[a]] - lon) < 1e-6
        for a, b in zip(road_map.turn_source, road_map.turn_target, strict=True)
    )


def test_nobody_turns_about_where_it_is_forbidden(tmp_path: Path) -> None:
    """Before a private gate one turns about; the rule names one way twice, which runs on there."""
    drawing = roads("a---b---c")
    drawing.streets = {"abc": {"highway": "residential", "name": "abc street"}}
    drawing.point_tags["b"] = {"barrier": "gate", "access": "private"}
    assert turning_about(drawing, tmp_path, "b") == 2
    drawing.rules = [("no_u_turn", "abc", "b", "abc")]
    assert turning_about(drawing, tmp_path, "b") == 0


def test_a_rule_of_a_way_that_passes_its_point_is_counted(tmp_path: Path) -> None:
    """From wxe into nx may mean either side; a guess would close a street for nothing."""
    drawing = roads(CROSS)
    del drawing.streets["wx"], drawing.streets["xe"]
    drawing.streets["wxe"] = {"highway": "residential", "name": "wxe street"}
    drawing.rules = [("no_left_turn", "wxe", "x", "nx")]
    left_out = drawing.road_map(tmp_path).summary.left_out
    assert left_out == (("turn rules whose streets do not join clearly", 1),)
