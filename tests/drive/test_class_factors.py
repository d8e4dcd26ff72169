"""Road classes told apart by drives whose truth is known."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest

from dispatch.drive.class_factors import (
    learn_classes,
    seconds_by_class,
    with_classes,
)
from dispatch.drive.factors import Driven, Factors, corrected, learn_factors
from dispatch.drive.snap import snap_all
from dispatch.places import Place
from tests.drive.drawing import roads

HERE = Place(lat=0.5, lon=0.5)
NOON = 12 * 3600


def simulated(count: int, truth: dict[str, float], seed: int = 3) -> list[Driven]:
    """Return drives of many mixtures of classes; single drives scatter by a factor of 1.2."""
    chance = random.Random(seed)
    drives = []
    for _ in range(count):
        parts = {name: chance.random() ** 3 for name in truth}
        total = sum(parts.values())
        class_s = {name: 900 * part / total for name, part in parts.items()}
        drove_s = sum(class_s[name] * truth[name] for name in truth)
        noise = chance.lognormvariate(0, 0.18)
        drives.append(Driven(HERE, HERE, NOON, drove_s * noise, 900, class_s))
    return drives


def test_classes_are_told_apart_by_many_drives() -> None:
    """Truth: motorways 0.9, main roads 1.5, streets 1.2, of which 1.2 is what all have together.

    Drawn a little towards each other; the order and most of the distance must be found.
    """
    truth = {"motorways": 0.9, "main roads": 1.5, "streets": 1.2}
    records = simulated(2000, truth)
    classes, rows = learn_classes(records)
    assert all(row.enough for row in rows)
    for name, factor in truth.items():
        assert classes[name] == pytest.approx(factor / 1.2, abs=0.05)
    factors, _ = learn_factors([corrected(one, classes) for one in records], Factors())
    assert factors.elsewhere.factors["midday"] == pytest.approx(1.2, rel=0.03)


def test_too_few_drives_leave_the_map_as_it_is() -> None:
    """Thirty drives are ten on each class."""
    classes, rows = learn_classes(simulated(30, {"motorways": 0.5, "main roads": 2, "streets": 1}))
    assert classes == {}
    assert [row.enough for row in rows] == [False, False, False]
    assert all("too little data" in row.words for row in rows)


def test_drives_on_one_class_alone_tell_nothing_of_the_others() -> None:
    """A town without main roads: how slow it is, is its region's factor."""
    drives = [Driven(HERE, HERE, NOON, 600, 300, {"streets": 300.0})] * 200
    classes, rows = learn_classes(drives)
    assert classes == {}
    assert "on another class" in rows[2].words


def test_a_drive_is_split_by_the_classes_of_its_streets(tmp_path: Path) -> None:
    """100 m of primary road and 100 m of street, 9 s each, from end to end."""
    drawing = roads("a---b---c")
    drawing.streets["ab"]["highway"] = "primary"
    road_map = drawing.road_map(tmp_path)
    places = {"x": drawing.points["a"], "y": drawing.points["c"]}
    snaps, _ = snap_all(road_map, places)
    seconds = seconds_by_class(road_map, snaps["x"], snaps["y"])
    assert seconds == {"motorways": 0.0, "main roads": 9.0, "streets": 9.0}


def test_a_map_takes_the_factors_of_its_classes(tmp_path: Path) -> None:
    """Streets get slower, main roads stay, and the map is another one to all that keeps drives."""
    drawing = roads("a---b---c")
    drawing.streets["ab"]["highway"] = "primary"
    plain = drawing.road_map(tmp_path)
    slow = with_classes(plain, {"streets": 1.5})
    main = np.array([plain.kinds[kind] == "primary" for kind in plain.kind])
    assert slow.drive_ms[main].tolist() == [9000, 9000]
    assert slow.drive_ms[~main].tolist() == [13500, 13500]
    assert slow.digest != plain.digest
    assert with_classes(plain, {"streets": 1.0}) is plain
