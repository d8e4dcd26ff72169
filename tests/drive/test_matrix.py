"""Drive times and distances, by hand on drawn maps and against NetworkX on Helsinki."""

from __future__ import annotations

import itertools
from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from dispatch.drive.graph import RoadMap
from dispatch.drive.matrix import DriveMatrix, compute_matrix, drive_matrix, slowed
from dispatch.drive.snap import Snap, snap_all
from dispatch.drive.speeds import SpeedModel
from dispatch.errors import InvalidValue
from dispatch.places import Place
from tests.bench.drive_accuracy import random_places
from tests.drive.drawing import NO_DELAYS, Drawing, roads

ENGINES = ("scipy", "hierarchy")
DELAYS = SpeedModel(u_turn_s=15, near_turn_s=2, far_turn_s=5, signal_s=12, gate_s=10)


def drives(
    drawing: Drawing,
    places: dict[str, Place],
    folder: Path,
    model: SpeedModel = NO_DELAYS,
    engine: str = "scipy",
) -> DriveMatrix:
    road_map = drawing.road_map(folder, model)
    snaps, problems = snap_all(road_map, places)
    assert not problems
    return compute_matrix(road_map, snaps, engine)


@pytest.mark.parametrize("engine", ENGINES)
def test_times_and_metres_of_a_square(engine: str, tmp_path: Path) -> None:
    """From the middle of one side to the middle of the opposite one: 200 m, at 40 km/h 18 s."""
    square = roads("""
a---b
|   |
d---c
""")
    places = {"x": square.at("ab", 0.5), "y": square.at("dc", 0.5)}
    matrix = drives(square, places, tmp_path, engine=engine)
    assert matrix.ids == ("x", "y")
    assert matrix.drive_s.tolist() == [[0, 18], [18, 0]]
    assert matrix.drive_m.tolist() == [[0, 200], [200, 0]]


@pytest.mark.parametrize("engine", ENGINES)
def test_two_sites_on_one_street_are_joined_along_it(engine: str, tmp_path: Path) -> None:
    """60 m apart on a two-way street is 60 m both ways, not a round by its ends."""
    square = roads("""
a---b
|   |
d---c
""")
    places = {"x": square.at("ab", 0.2), "y": square.at("ab", 0.8)}
    matrix = drives(square, places, tmp_path, engine=engine)
    assert matrix.drive_m.tolist() == [[0, 60], [60, 0]]


@pytest.mark.parametrize("engine", ENGINES)
def test_backwards_on_a_one_way_loop_is_all_the_way_round(engine: str, tmp_path: Path) -> None:
    """60 m on, and 400 - 60 = 340 m back round the block."""
    loop = roads("""
a-->b
^   v
d<--c
""")
    places = {"x": loop.at("ab", 0.2), "y": loop.at("ab", 0.8)}
    matrix = drives(loop, places, tmp_path, engine=engine)
    assert matrix.drive("x", "y") == (5, 60)  # 5.4 s
    assert matrix.drive("y", "x") == (31, 340)  # 30.6 s


@pytest.mark.parametrize("engine", ENGINES)
def test_a_drive_past_a_dead_end_turns_on_the_spot_only_there(engine: str, tmp_path: Path) -> None:
    """A site in a cul-de-sac is left the way one came; the turn at its end is not needed."""
    tree = roads("""
a---b---c
.   |   .
.   d   .
""")
    places = {"x": tree.at("bd", 0.5), "y": tree.at("ab", 0.5)}
    matrix = drives(tree, places, tmp_path, DELAYS, engine)
    assert matrix.drive("y", "x") == (11, 100)  # 9 s and a near turn of 2 s
    assert matrix.drive("x", "y") == (14, 100)  # 9 s and a turn across of 5 s


def test_turning_at_a_dead_end_takes_its_time(tmp_path: Path) -> None:
    """With the left turn forbidden the way leads on to the dead end c and back.

    From the middle of ab: 50 m to b, 100 m to c, 15 s, 100 m back to b, 2 s for the turn, 50 m.
    """
    tree = roads("""
.   e   .
.   |   .
a---b---c
""")
    tree.rules = [("no_left_turn", "ab", "b", "eb")]
    tree.streets = {"eb": tree.streets["eb"], "ab": tree.streets["ab"], "bc": tree.streets["bc"]}
    places = {"x": tree.at("ab", 0.5), "y": tree.at("eb", 0.5)}
    matrix = drives(tree, places, tmp_path, DELAYS)
    assert matrix.drive("x", "y") == (27 + 15 + 2, 300)
    assert matrix.drive("y", "x") == (9 + 2, 100)


def test_turning_into_the_other_carriageway_is_turning_about(tmp_path: Path) -> None:
    """Two one-way streets side by side, joined at b alone: 100 m take 9 s, the turn 15 s."""
    loop = roads("a-->b-->c")
    loop.points["c"] = Place(lat=loop.points["a"].lat + 0.0001, lon=loop.points["a"].lon)
    loop.streets["ca"] = {"highway": "residential"}
    places = {"x": loop.at("ab", 0.5), "y": loop.at("bc", 0.5)}
    assert drives(loop, places, tmp_path, DELAYS).drive("x", "y") == (9 + 15, 100)


def test_nobody_turns_on_the_spot_where_a_street_leads_on(tmp_path: Path) -> None:
    """As above, but c is no dead end: the turn is made 100 m further, at f, for 500 m in all."""
    tree = roads("""
.   e   .   .
.   |   .   .
a---b---c---f
""")
    tree.rules = [("no_left_turn", "ab", "b", "eb")]
    places = {"x": tree.at("ab", 0.5), "y": tree.at("eb", 0.5)}
    assert drives(tree, places, tmp_path).drive("x", "y") == (45, 500)


def test_an_only_rule_forbids_every_other_turn(tmp_path: Path) -> None:
    """Only straight on at b: to e by way of the dead end c, as with the left turn forbidden."""
    tree = roads("""
.   e   .
.   |   .
a---b---c
""")
    tree.rules = [("only_straight_on", "ab", "b", "bc")]
    places = {"x": tree.at("ab", 0.5), "y": tree.at("eb", 0.5)}
    assert drives(tree, places, tmp_path).drive("x", "y") == (27, 300)


def test_where_the_only_turn_leads_off_the_map_no_other_is_taken(tmp_path: Path) -> None:
    """At b only straight on, into a street that leads away for good: ab has no way on at all.

    So nobody drives from a into b, and the street keeps the one direction that is left.
    """
    block = roads("""
a>>>b>>>p
|   |
d---c
""")
    block.rules = [("only_straight_on", "ab", "b", "bp")]
    road_map = block.road_map(tmp_path)
    assert {road_map.street(edge) for edge in range(len(road_map.tail))} == {
        "ad street",
        "bc street",
        "dc street",
    }


def test_private_streets_are_ends_and_no_short_cuts(tmp_path: Path) -> None:
    """A gated street is reached for a pool in it; everybody else drives round."""
    block = roads("""
a---b---c
|       |
|       |
|       |
d---e---f
""")
    block.streets["be"] = {"highway": "residential", "access": "private"}
    places = {
        "north": block.at("bc", 0.1),
        "south": block.at("ef", 0.1),
        "inside": block.at("be", 0.5),
    }
    matrix = drives(block, places, tmp_path)
    assert matrix.drive("north", "south")[1] == 90 + 200 + 90  # not 10 + 200 + 10
    assert matrix.drive("north", "inside")[1] == 10 + 100
    assert matrix.drive("inside", "south")[1] == 100 + 10


def test_streets_behind_private_ones_count_as_private(tmp_path: Path) -> None:
    """Inside a gated community the streets themselves are often tagged as open."""
    estate = roads("""
a---b---c
|       |
e-------f
|       |
g---h---i
|       |
k---m---n
""")
    estate.streets["ae"]["access"] = estate.streets["cf"]["access"] = "private"
    road_map = estate.road_map(tmp_path)
    ways = {road_map.street(int(edge)) for edge in np.flatnonzero(road_map.end_only)}
    assert ways == {"ae street", "cf street", "ab street", "bc street"}


def test_a_private_gate_lets_in_and_not_through(tmp_path: Path) -> None:
    """Both streets are open; only the gate at e between them is private."""
    block = roads("""
a---b---c
|       |
d   e   f
.   |   .
g---h---i
""")
    block.streets["be"] = {"highway": "residential", "name": "be street"}
    block.streets["dg"] = {"highway": "residential"}
    block.streets["fi"] = {"highway": "residential"}
    block.point_tags["e"] = {"barrier": "gate", "access": "private"}
    places = {"north": block.at("be", 0.9), "south": block.at("eh", 0.1)}
    matrix = drives(block, places, tmp_path)
    assert matrix.drive("north", "south")[1] == 90 + 100 + 200 + 100 + 90  # not 10 + 10


def test_signals_at_a_junction_cost_their_wait(tmp_path: Path) -> None:
    """100 m at 40 km/h is 9 s; a junction with a signal in between adds 12 s."""
    line = roads("a---b---c")
    line.point_tags["b"] = {"highway": "traffic_signals"}
    places = {"x": line.at("ab", 0.5), "y": line.at("bc", 0.5)}
    assert drives(line, places, tmp_path, DELAYS).drive("x", "y") == (21, 100)


def test_both_engines_agree_on_helsinki(
    helsinki: RoadMap, helsinki_places: dict[str, Snap]
) -> None:
    """The hierarchy is quick, SciPy's Dijkstra is plain; they must give the same numbers."""
    plain = compute_matrix(helsinki, helsinki_places, "scipy")
    quick = compute_matrix(helsinki, helsinki_places, "hierarchy")
    assert np.array_equal(plain.drive_s, quick.drive_s)
    assert np.array_equal(plain.drive_m, quick.drive_m)


AFTER = {"leaving": ("leaving", "open"), "open": ("open", "entering"), "entering": ("entering",)}
UNIT = 10**9  # one cost = milliseconds · 10^9 + decimetres


def reference_graph(road_map: RoadMap, snaps: dict[str, Snap]) -> nx.DiGraph:
    """Return drives as a graph of NetworkX, made from the road map's turns alone.

    A node is (edge, phase): leaving the street of the start, on open streets, entering that of the
    end; or ("from", id) and ("to", id) for the places.
    """
    graph = nx.DiGraph()
    into: dict[int, list[tuple[int, int]]] = {}
    turns = (road_map.turn_source, road_map.turn_target, road_map.turn_ms)
    for a, b, turn_ms in zip(*(array.tolist() for array in turns), strict=True):
        into.setdefault(b, []).append((a, turn_ms * UNIT))
        for before, after in steps(road_map, a, b):
            cost = turn_ms * UNIT + share_of(road_map, b, 1)
            graph.add_edge((a, before), (b, after), weight=cost)
    on_edge: dict[int, list[tuple[str, float]]] = {}
    for place, snap in snaps.items():
        for edge, share in sides(road_map, snap):
            on_edge.setdefault(edge, []).append((place, share))
    for place, snap in snaps.items():
        for edge, share in sides(road_map, snap):
            part = share_of(road_map, edge, share)
            first = "leaving" if road_map.end_only[edge] else "open"
            rest = share_of(road_map, edge, 1) - part
            graph.add_edge(("from", place), (edge, first), weight=rest)
            for a, turn in into[edge]:
                for before, _ in steps(road_map, a, edge):
                    graph.add_edge((a, before), ("to", place), weight=turn + part)
    add_straight_drives(graph, road_map, on_edge)
    return graph


def add_straight_drives(
    graph: nx.DiGraph, road_map: RoadMap, on_edge: dict[int, list[tuple[str, float]]]
) -> None:
    """Add the drives from place to place along one edge."""
    for edge, spots in on_edge.items():
        for (one, share), (other, further) in itertools.permutations(spots, 2):
            if further >= share:
                along = share_of(road_map, edge, further) - share_of(road_map, edge, share)
                graph.add_edge(("from", one), ("to", other), weight=along)


def steps(road_map: RoadMap, a: int, b: int) -> list[tuple[str, str]]:
    """Return the phases before and after a turn from edge a into edge b."""
    kinds = [("leaving", "entering") if road_map.end_only[edge] else ("open",) for edge in (a, b)]
    return [(x, y) for x in kinds[0] for y in kinds[1] if y in AFTER[x]]


def sides(road_map: RoadMap, snap: Snap) -> list[tuple[int, float]]:
    """Return the directed edges of a place and the share of each before it."""
    twin = int(road_map.twin[snap.edge])
    return [(snap.edge, snap.fraction)] + ([(twin, 1 - snap.fraction)] if twin >= 0 else [])


def share_of(road_map: RoadMap, edge: int, share: float) -> int:
    """Return the cost of a share of an edge."""
    drive_ms = round(share * int(road_map.drive_ms[edge]))
    return drive_ms * UNIT + round(share * int(road_map.length_dm[edge]))


def test_a_thousand_random_drives_equal_networkx_dijkstra_exactly(helsinki: RoadMap) -> None:
    """Reference: NetworkX's Dijkstra on the same weights, from 1,000 places to 1,000 others.

    Weights are whole milliseconds and decimetres, so there is no rounding to hide behind.
    """
    places = random_places(helsinki, 2000, 30.0, seed=11)
    snaps, problems = snap_all(helsinki, places)
    assert not problems
    graph = reference_graph(helsinki, snaps)
    matrix = compute_matrix(helsinki, snaps)
    for start, end in zip(matrix.ids[:1000], matrix.ids[1000:], strict=True):
        cost = nx.dijkstra_path_length(graph, ("from", start), ("to", end))
        drive_ms, length_dm = divmod(cost, UNIT)
        expected = ((drive_ms + 500) // 1000, (length_dm + 5) // 10)
        assert matrix.drive(start, end) == expected


def test_a_factor_slows_the_time_and_not_the_distance() -> None:
    """Between a place at 1.2 and one at 1, 100 s become 110 s."""
    times = np.array([[0, 100], [200, 0]], dtype=np.int32)
    matrix = slowed(DriveMatrix(("a", "b"), times, times), {"a": 1.2, "b": 1.0})
    assert matrix.drive_s.tolist() == [[0, 110], [220, 0]]
    assert matrix.drive_m.tolist() == times.tolist()


def test_no_places_give_an_empty_matrix(helsinki: RoadMap, tmp_path: Path) -> None:
    """A company begins without sites."""
    assert drive_matrix(helsinki, {}, tmp_path).drive_s.shape == (0, 0)


def test_a_matrix_of_the_wrong_shape_is_refused() -> None:
    """A mix-up of places and figures would plan nonsense."""
    square = np.zeros((2, 2), dtype=np.int32)
    with pytest.raises(InvalidValue, match="needs 3 x 3"):
        DriveMatrix(("a", "b", "c"), square, square)
    with pytest.raises(InvalidValue, match="stands twice"):
        DriveMatrix(("a", "a"), square, square)
    with pytest.raises(InvalidValue, match="negative"):
        DriveMatrix(("a", "b"), square - 1, square)
