"""Standing routes over places on the map."""

from __future__ import annotations

from collections import defaultdict
from random import Random

from sample_region.crew import CREW
from sample_region.standing_routes import standing_routes


def test_every_working_day_gets_work_in_proportion_to_its_shift() -> None:
    """Routes out of proportion would be overfull on one day and empty on another."""
    rng = Random(5)
    places = [(rng.uniform(-4000, 4000), rng.uniform(-4000, 4000)) for _ in range(400)]
    slots = standing_routes(places, [30.0] * 400)
    minutes: dict[str, float] = defaultdict(float)
    for technician_id, _ in slots:
        minutes[technician_id] += 30.0
    shift_min = {t.id: sum(map(t.minutes_on, range(7))) for t in CREW}
    for technician_id, total in minutes.items():
        share = shift_min[technician_id] / sum(shift_min.values())
        assert abs(total / 12_000 - share) < 0.02
    assert set(slots) == {(t.id, day) for t in CREW for day in t.shifts}


def test_a_route_lies_in_one_part_of_the_map() -> None:
    """Sites of one day spread over the whole town would be no standing route."""
    places = [(float(100 * i), float(100 * j)) for i in range(40) for j in range(10)]
    slots = standing_routes(places, [30.0] * 400)
    spans = []
    for slot in set(slots):
        xs = [p[0] for p, s in zip(places, slots, strict=True) if s == slot]
        spans.append(max(xs) - min(xs))
    assert max(spans) < 1500  # of 3,900 m
