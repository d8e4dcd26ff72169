"""Speeds and delays on edges."""

from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.drive.osm import read_streets
from dispatch.drive.osmnx_graph import graph_of
from dispatch.drive.speeds import SpeedModel, add_travel_times
from dispatch.errors import InvalidValue
from tests.drive.drawing import Tags, roads


def seconds(tags: Tags, folder: Path, model: SpeedModel | None = None) -> float:
    """Return the travel time of a street of 100 m."""
    drawing = roads("a---b")
    drawing.streets["ab"] = {"highway": "residential"} | tags
    graph = graph_of(read_streets(drawing.write(folder)))
    return float(add_travel_times(graph, model or SpeedModel()).edges[1, 2, 0]["travel_time"])


@pytest.mark.parametrize(
    ("tags", "expected_s"),
    [
        ({}, 360 / 35),  # 100 m at 35 km/h
        ({"highway": "primary"}, 4.8),  # 75 km/h
        ({"highway": "primary", "maxspeed": "50"}, 7.2),  # 100 m at 50 km/h
        ({"highway": "primary", "maxspeed": "30 mph"}, 360 / 48.28032),
        ({"maxspeed": "50"}, 7.2),
        ({"highway": "primary", "maxspeed": "FI:urban"}, 7.2),  # 50 km/h by OSMnx's table
        ({"highway": "primary", "maxspeed": "none"}, 4.8),
        ({"highway": "primary", "surface": "dirt"}, 14.4),  # half of 75, but at most 25 km/h
        ({"maxspeed": "40", "surface": "gravel"}, 18.0),  # half of 40 km/h
        ({"highway": "service"}, 14.4),  # 25 km/h
        ({"highway": "service", "service": "driveway"}, 30.0),  # 12 km/h
    ],
)
def test_a_posted_limit_wins_over_the_class_and_a_bad_surface_over_both(
    tags: Tags, expected_s: float, tmp_path: Path
) -> None:
    """Each figure is 100 m over the speed of the table."""
    assert seconds(tags, tmp_path) == pytest.approx(expected_s, rel=1e-3)


def test_the_factor_of_a_region_multiplies_everything(tmp_path: Path) -> None:
    """One factor is learnt from a company's own drives."""
    assert seconds({}, tmp_path, SpeedModel(factor=1.5)) == pytest.approx(540 / 35, rel=1e-3)


def test_a_limit_for_one_direction_holds_for_it_alone(tmp_path: Path) -> None:
    """Limits may differ by direction."""
    drawing = roads("a---b")
    drawing.streets["ab"] = {
        "highway": "primary",
        "maxspeed:forward": "60",
        "maxspeed:backward": "30",
    }
    graph = add_travel_times(graph_of(read_streets(drawing.write(tmp_path))), SpeedModel())
    assert graph.edges[1, 2, 0]["travel_time"] == pytest.approx(6.0, rel=1e-3)
    assert graph.edges[2, 1, 0]["travel_time"] == pytest.approx(12.0, rel=1e-3)


def test_a_turn_across_the_oncoming_lane_costs_more() -> None:
    """Left is across where one drives on the right, and the other way round."""
    right, left = SpeedModel(), SpeedModel(drives_on_right=False)
    assert (right.turn_s(90), right.turn_s(-90), right.turn_s(10)) == (2.2, 5.0, 0.0)
    assert (left.turn_s(90), left.turn_s(-90), left.turn_s(-10)) == (5.0, 2.2, 0.0)


def test_the_sharper_a_turn_the_more_it_costs() -> None:
    """A hairpin is driven at walking pace; between the angles of the table it grows evenly."""
    model = SpeedModel()
    assert model.turn_s(60) == pytest.approx(1.1)  # half of 2.2 s
    assert model.turn_s(150) == pytest.approx(6.6)  # three times 2.2 s
    assert model.turn_s(180) == model.turn_s(-165) == 25.0  # into the other carriageway
    assert model.turn_s(-67.5) == pytest.approx(5 * (0.25 + 1.0) / 2)
    delays = [model.turn_s(angle) for angle in range(181)]
    assert delays == sorted(delays)


def test_a_signal_within_a_street_costs_less_than_one_of_a_junction() -> None:
    """The junction behind a stop line is counted once, not at every line of it."""
    model = SpeedModel()
    assert (model.control_s("signals"), model.passed_s("signals")) == (3.0, 0.5)
    assert model.control_s("stop") == model.passed_s("stop") == 3.0
    assert model.control_s("") == 0


def test_streets_in_a_town_are_driven_slower(tmp_path: Path) -> None:
    """30 km/h where streets are dense, 35 km/h elsewhere; a posted limit holds in both."""
    graph = graph_of(read_streets(roads("a---b").write(tmp_path)))
    for _, _, data in graph.edges(data=True):
        data["built_up"] = True
    posted = add_travel_times(graph, SpeedModel()).edges[1, 2, 0]["travel_time"]
    for _, _, data in graph.edges(data=True):
        del data["maxspeed"]
    free = add_travel_times(graph, SpeedModel()).edges[1, 2, 0]["travel_time"]
    assert (posted, free) == (pytest.approx(9.0, rel=1e-3), pytest.approx(12.0, rel=1e-3))


def test_impossible_speeds_and_delays_are_refused() -> None:
    """A speed of 0 would make a street endless."""
    with pytest.raises(InvalidValue, match="residential is 0 km/h"):
        SpeedModel(class_kmh={"residential": 0})
    with pytest.raises(InvalidValue, match="factor is -1"):
        SpeedModel(factor=-1)
    with pytest.raises(InvalidValue, match="signal_s is -2 s"):
        SpeedModel(signal_s=-2)
