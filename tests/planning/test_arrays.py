"""A week as the search reads it."""

from __future__ import annotations

from dispatch.planning.arrays import BULK, MILLION, encode
from tests.planning.weeks import MON, THU, TUE, cell, demand, on_a_line, problem, upkeep


def test_bulk_counts_the_time_and_mass_of_all_visits_with_their_upkeep() -> None:
    """What is hard to put anywhere is placed first: by hand, of days of 8 h and trucks of 400 kg.

    An hour and 100 kg, twice: 2 (1/8 + 1/4). Half an hour, and 90 min and 100 kg of upkeep: 2/8 +
    1/4. An hour alone: 1/8.
    """
    heavy = upkeep("S2", minutes=90, mass_kg=100.0)
    pools = [
        demand("S1", 1, (MON, THU), minutes=60, load_kg=100.0),
        demand("S2", 2, MON, TUE, minutes=30, upkeep=[heavy]),
        demand("S3", 3, MON, minutes=60),
    ]
    trucks = [cell(day=day, hours="07:00-15:00", payload_kg=400.0) for day in (MON, TUE, THU)]
    bulk = encode(problem(on_a_line(0, 5, 9, 14), trucks, pools)).arrays.unit[:-1, BULK]
    assert list(bulk / MILLION) == [0.75, 0.5, 0.125]
