"""Invented fleets of parts whose true lives are known."""

from __future__ import annotations

import math
from collections.abc import Iterator
from random import Random

from dispatch.upkeep_forecast import Lives

USUAL_DAYS = 1096.0  # days; three years, as an anode by the calendar
ENDS_AT = 0.5  # share of an anode at which it is changed
EYE_SD = 0.06  # share by which the invented eye is off


def fleet(count: int, seed: int, *, mean: float = USUAL_DAYS) -> Iterator[tuple[Lives, float]]:
    """Sites with up to three earlier lives and a part in use, with what is left of it in truth.

    Site means spread by 30 %, lives within a site by 15 %; every second part was judged by eye.
    """
    rng = Random(seed)
    for n in range(count):
        own = math.log(mean) + rng.gauss(0, 0.30)
        ended = tuple(math.exp(own + rng.gauss(0, 0.15)) for _ in range(rng.randint(0, 3)))
        life = math.exp(own + rng.gauss(0, 0.15))
        age = life * rng.uniform(0.05, 0.9)
        left = left_at = None
        if n % 2:
            left_at = age * rng.uniform(0.6, 1.0)
            worn = (1 - ENDS_AT) * left_at / life
            left = min(1.0, max(0.0, 1 - worn + rng.gauss(0, EYE_SD)))
        yield Lives(f"S{n}", ended, age, left, left_at, ENDS_AT), life - age
