"""Turn rules by way of streets, on drawn maps."""

from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.drive.compact import compact
from dispatch.drive.graph import RoadMap
from dispatch.drive.matrix import compute_matrix
from dispatch.drive.osm import read_streets
from dispatch.drive.paths import leg_edges
from dispatch.drive.snap import snap_all
from tests.drive.drawing import NO_DELAYS, Drawing, roads

LADDER = """
a---b---c---d
.   |   |   |
.   e---f---g
.   |   |   |
.   h---i---j
"""


def drive(drawing: Drawing, road_map: RoadMap, start: str, end: str) -> tuple[int, list[str]]:
    """Return metres by the matrix, and the streets driven, from the middle of street to street."""
    places = {"from": drawing.at(start, 0.5), "to": drawing.at(end, 0.5)}
    snaps, problems = snap_all(road_map, places)
    assert not problems
    streets = [
        road_map.street(edge).split()[0] for edge in leg_edges(road_map, snaps["from"], snaps["to"])
    ]
    return compute_matrix(road_map, snaps, "scipy").drive("from", "to")[1], streets


def test_a_rule_by_way_of_a_street_forbids_only_who_came_that_way(tmp_path: Path) -> None:
    """From ab by bc into cf is forbidden: 100 m more, by be and ef. From be it stays allowed."""
    drawing = roads(LADDER)
    drawing.rules = [("no_right_turn", "ab", "bc", "cf")]
    road_map = drawing.road_map(tmp_path)
    assert drive(drawing, road_map, "ab", "cd") == (200, ["ab", "bc", "cd"])
    metres, streets = drive(drawing, road_map, "ab", "cf")
    assert (metres, streets) == (300, ["ab", "be", "ef", "cf"])
    assert drive(drawing, road_map, "be", "cf")[1] in (["be", "bc", "cf"], ["be", "ef", "cf"])
    free = roads(LADDER).road_map(tmp_path)
    assert drive(drawing, free, "ab", "cf")[0] == 200


def test_nobody_driving_off_in_the_middle_is_bound(tmp_path: Path) -> None:
    """A truck that begins its drive on bc did not come from ab."""
    drawing = roads(LADDER)
    drawing.rules = [("no_right_turn", "ab", "bc", "cf")]
    road_map = drawing.road_map(tmp_path)
    assert drive(drawing, road_map, "bc", "cf") == (100, ["bc", "cf"])


def test_a_drive_may_end_on_the_street_between(tmp_path: Path) -> None:
    """Coming from ab, a pool on bc is reached straight on; the rule binds only beyond it."""
    drawing = roads(LADDER)
    drawing.rules = [("no_right_turn", "ab", "bc", "cf")]
    assert drive(drawing, drawing.road_map(tmp_path), "ab", "bc") == (100, ["ab", "bc"])


def test_a_rule_by_way_of_two_streets(tmp_path: Path) -> None:
    """From ab by bc and cf into fi is forbidden; with be closed the next way is round by d."""
    drawing = roads(LADDER)
    drawing.streets["be"]["oneway"] = "-1"
    drawing.rules = [("no_straight_on", "ab", "bc cf", "fi")]
    road_map = drawing.road_map(tmp_path)
    assert drive(drawing, road_map, "ab", "ef")[1] == ["ab", "bc", "cf", "ef"]
    metres, streets = drive(drawing, road_map, "ab", "fi")
    assert metres == 500  # ab, bc, cd, dg, fg, fi: 50 + 4 · 100 + 50
    assert streets == ["ab", "bc", "cd", "dg", "fg", "fi"]


def test_the_only_way_on_binds_who_came_by_way_of_the_street(tmp_path: Path) -> None:
    """From ab by bc only into cd: cf is reached round by e; who comes from be is free."""
    drawing = roads(LADDER)
    drawing.rules = [("only_straight_on", "ab", "bc", "cd")]
    road_map = drawing.road_map(tmp_path)
    assert drive(drawing, road_map, "ab", "cf")[1] == ["ab", "be", "ef", "cf"]
    assert drive(drawing, road_map, "ab", "cd")[1] == ["ab", "bc", "cd"]


def test_turning_about_over_a_bridge_is_forbidden_by_way_of_it(tmp_path: Path) -> None:
    """The usual rule of this kind: from one carriageway over the link back into the other."""
    drawing = roads("""
a>>>b>>>c
|   |   |
d<<<e<<<f
""")
    drawing.rules = [("no_u_turn", "ab", "be", "de")]
    road_map = drawing.road_map(tmp_path)
    metres, streets = drive(drawing, road_map, "ab", "de")
    assert streets == ["ab", "bc", "cf", "ef", "de"]
    assert metres == 400


def test_streets_cut_in_pieces_keep_their_rule(tmp_path: Path) -> None:
    """A side street in the middle of the street between changes nothing."""
    drawing = roads("""
a---b---m---c---d
.   |   |   |   |
.   e---n---f---g
""")
    del drawing.streets["bm"], drawing.streets["mc"]
    drawing.streets["bmc"] = {"highway": "residential", "name": "bmc street"}
    drawing.rules = [("no_right_turn", "ab", "bmc", "cf")]
    road_map = drawing.road_map(tmp_path)
    _, streets = drive(drawing, road_map, "ab", "cf")
    assert streets[-3:] != ["bmc", "bmc", "cf"]
    assert drive(drawing, road_map, "ab", "cd")[0] == 300


def test_overlapping_rules_all_hold(tmp_path: Path) -> None:
    """The end of one forbidden row is the beginning of another."""
    drawing = roads(LADDER)
    drawing.rules = [
        ("no_right_turn", "ab", "bc", "cf"),
        ("no_right_turn", "bc", "cd", "dg"),
    ]
    road_map = drawing.road_map(tmp_path)
    _, streets = drive(drawing, road_map, "ab", "dg")
    assert "cd" not in streets
    assert streets in (["ab", "be", "ef", "fg", "dg"], ["ab", "be", "ef", "cf", "cd", "dg"])


@pytest.mark.parametrize(
    ("kind", "reason"),
    [
        ("no_right_turn except=motorcar", "turn rules from which cars are excepted"),
        ("no_right_turn hour_on=07:00", "turn rules that hold at some hours only"),
        ("give_way", "turn rules of an unknown kind"),
    ],
)
def test_rules_that_do_not_bind_are_counted(kind: str, reason: str, tmp_path: Path) -> None:
    """Nothing is dropped in silence."""
    drawing = roads(LADDER)
    drawing.rules = [(kind, "ab", "bc", "cf")]
    extract = read_streets(drawing.write(tmp_path))
    road_map = compact(extract, NO_DELAYS, "drawn.osm")
    assert road_map.summary.left_out == ((reason, 1),)
    assert drive(drawing, road_map, "ab", "cf")[0] == 200


def test_a_rule_whose_streets_do_not_join_is_counted_and_left_out(tmp_path: Path) -> None:
    """hi and bc do not meet; a guess would close a street for nothing."""
    drawing = roads(LADDER)
    drawing.rules = [("no_right_turn", "ab", "hi", "cf")]
    road_map = drawing.road_map(tmp_path)
    assert road_map.summary.left_out == (("turn rules whose streets do not join clearly", 1),)
    assert len(road_map.copy_of) == 0
