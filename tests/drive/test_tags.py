"""What single tags mean. The meanings are those of the OpenStreetMap wiki, as remembered."""

from __future__ import annotations

import pytest

from dispatch.drive.tags import (
    access_of,
    barrier_of,
    clean_maxspeed,
    control_of,
    directions_of,
    street_of,
    turn_rule_of,
)


@pytest.mark.parametrize(
    ("value", "clean"),
    [
        ("50", "50.00"),
        ("50 km/h", "50.00"),
        ("30 mph", "48.28"),  # 30 · 1.609344
        ("10 knots", "18.52"),  # 10 · 1.852
        ("DE:zone:30", "30"),
        ("FI:urban", "FI:urban"),  # left to OSMnx's own table
        ("walk", "6.00"),
        ("none", ""),
        ("signals", ""),
        ("0", ""),
        ("50|30", "50.00"),
        ("", ""),
    ],
)
def test_posted_limits_come_out_in_kmh(value: str, clean: str) -> None:
    """Limits are written in many ways."""
    assert clean_maxspeed(value) == clean


@pytest.mark.parametrize(
    ("tags", "directions"),
    [
        ({}, (True, True)),
        ({"oneway": "yes"}, (True, False)),
        ({"oneway": "-1"}, (False, True)),
        ({"oneway": "no", "junction": "roundabout"}, (True, True)),
        ({"junction": "roundabout"}, (True, False)),
        ({"highway": "motorway_link"}, (True, False)),
        ({"highway": "motorway", "oneway": "no"}, (True, True)),
        ({"oneway": "reversible"}, (False, False)),
        ({"oneway": "yes", "oneway:motor_vehicle": "no"}, (True, True)),
    ],
)
def test_one_way_streets(tags: dict[str, str], directions: tuple[bool, bool]) -> None:
    """A wrong direction sends a technician against the traffic."""
    assert directions_of(tags) == directions


@pytest.mark.parametrize(
    ("tags", "access"),
    [
        ({}, "open"),
        ({"access": "private"}, "end-only"),
        ({"access": "no"}, "closed"),
        ({"access": "no", "motor_vehicle": "yes"}, "open"),
        ({"vehicle": "destination"}, "end-only"),
        ({"motor_vehicle": "agricultural"}, "closed"),
        ({"access": "yes", "motorcar": "no"}, "closed"),
    ],
)
def test_the_more_specific_access_key_wins(tags: dict[str, str], access: str) -> None:
    """`access=no` with `motor_vehicle=yes` is open to a truck."""
    assert access_of(tags) == access


@pytest.mark.parametrize(
    ("tags", "barrier"),
    [
        ({}, ""),
        ({"barrier": "bollard"}, "blocked"),
        ({"barrier": "bollard", "motor_vehicle": "yes"}, ""),
        ({"barrier": "gate"}, "gate"),
        ({"barrier": "gate", "access": "permissive"}, ""),  # stands open
        ({"barrier": "lift_gate", "motorcar": "yes"}, ""),
        ({"barrier": "lift_gate", "access": "private"}, "private-gate"),
        ({"barrier": "gate", "motor_vehicle": "no"}, "blocked"),
        ({"barrier": "cattle_grid"}, ""),
        ({"barrier": "toll_booth", "access": "no"}, "blocked"),
    ],
)
def test_barriers(tags: dict[str, str], barrier: str) -> None:
    """A gate is opened, a private gate only to end a drive behind it, a bollard never."""
    assert barrier_of(tags) == barrier


@pytest.mark.parametrize(
    "tags",
    [
        {"highway": "footway"},
        {"highway": "construction"},
        {"route": "ferry"},
        {"highway": "residential", "area": "yes"},
        {"highway": "service", "service": "emergency_access"},
        {"highway": "residential", "access": "no"},
        {"highway": "track"},
        {"highway": "motorway", "oneway": "reversible"},
        {"highway": "service", "oneway:motor_vehicle": "yes", "motor_vehicle:forward": "no"},
    ],
)
def test_ways_that_no_truck_drives_are_left_out(tags: dict[str, str]) -> None:
    """The classes are a whitelist; whatever else is mapped stays out."""
    assert street_of(tags) is None


def test_driveways_only_end_a_drive_and_tunnels_have_no_sites() -> None:
    """Parking aisles are no short cut, and nobody parks in a tunnel."""
    aisle = street_of({"highway": "service", "service": "parking_aisle"})
    tunnel = street_of({"highway": "primary", "tunnel": "yes"})
    passage = street_of({"highway": "service", "tunnel": "building_passage"})
    assert aisle is not None
    assert aisle.end_only
    assert tunnel is not None
    assert not tunnel.stopping
    assert passage is not None
    assert passage.stopping


@pytest.mark.parametrize(
    ("tags", "rule"),
    [
        ({"restriction": "no_left_turn"}, "no"),
        ({"restriction": "only_straight_on"}, "only"),
        ({"restriction": "no_left_turn", "except": "psv; motorcar"}, "exempt"),
        ({"restriction": "no_left_turn", "except": "bicycle"}, "no"),
        ({"restriction:motorcar": "no_u_turn"}, "no"),
        ({"restriction": "give_way"}, "unknown"),
        ({"restriction:conditional": "no_left_turn @ (07:00-09:00)"}, "conditional"),
        ({"restriction": "no_left_turn", "hour_on": "07:00"}, "conditional"),
        ({"restriction:hgv": "no_left_turn"}, "exempt"),
    ],
)
def test_turn_rules_that_bind_a_car(tags: dict[str, str], rule: str) -> None:
    """Rules with an exception for cars do not bind."""
    assert turn_rule_of(tags) == rule


def test_a_direction_may_be_closed_by_itself() -> None:
    """As behind a sign that forbids entry from one end."""
    street = street_of({"highway": "residential", "vehicle:backward": "no"})
    assert street is not None
    assert (street.forward, street.backward) == (True, False)


@pytest.mark.parametrize(
    ("tags", "control"),
    [
        ({"highway": "traffic_signals"}, "signals"),
        ({"highway": "crossing", "crossing": "traffic_signals"}, "signals"),
        ({"highway": "crossing", "crossing": "marked"}, "crossing"),
        ({"highway": "crossing", "crossing": "unmarked"}, ""),
        ({"highway": "mini_roundabout"}, "mini_roundabout"),
        ({"railway": "level_crossing"}, "level_crossing"),
        ({"highway": "street_lamp"}, ""),
    ],
)
def test_what_a_driver_passes(tags: dict[str, str], control: str) -> None:
    """By the names under which the speed model prices it."""
    assert control_of(tags) == control


@pytest.mark.parametrize(
    ("tags", "street"),
    [
        ({"highway": "pedestrian"}, "closed"),
        ({"highway": "pedestrian", "access": "yes"}, "closed"),
        ({"highway": "pedestrian", "motor_vehicle": "destination"}, "end-only"),
        ({"highway": "cycleway", "motorcar": "yes"}, "open"),
        ({"highway": "footway", "motorcar": "private"}, "end-only"),
        ({"highway": "path", "motor_vehicle": "no"}, "closed"),
        ({"highway": "track", "motor_vehicle": "private"}, "closed"),  # of farms and forests
        ({"highway": "track", "motor_vehicle": "yes"}, "open"),
    ],
)
def test_ways_for_walkers_are_driven_where_cars_are_let_in_by_name(
    tags: dict[str, str], street: str
) -> None:
    """Customers live in pedestrian streets; a footway without a word is none."""
    found = street_of(tags)
    kind = "closed" if found is None else "end-only" if found.end_only else "open"
    assert kind == street
