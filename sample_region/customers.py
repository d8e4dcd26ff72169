"""The invented customers: whose pools, where, and what has been agreed."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from sample_region.addresses import House
from sample_region.crew import CREW, WEEKDAYS
from sample_region.standing_routes import Slot, standing_routes

SITES = 190
TWICE_A_WEEK, EVERY_2_WEEKS, EVERY_4_WEEKS = 15, 20, 6  # sites; all others are weekly
DRIVE_MIN = 6  # of driving that a stop brings with it, for sharing out the work
DRIFTED = 0.16  # share of customers whose weekday was drawn anew over the years
NEIGHBOURS = 2  # customers come in knots of about this many, as word of mouth makes them
KINDS = (  # what, minutes from and to, US gallons from and to, weight; common practice
    ("small pool", 20, 26, 7000, 11000, 22),
    ("family pool", 28, 38, 11000, 19000, 46),
    ("pool with spa", 38, 50, 16000, 24000, 22),
    ("large pool under trees", 44, 60, 22000, 34000, 10),
)
_FIRST_NAMES = (
    "Alba Amir Anita Bela Bo Carla Chen Cora Dana Dario Edda Elif Emil Farid Fay Gita Greta Hana "
    "Hugo Ida Ines Ivo Jana Jun Kai Kira Lars Lea Lena Lin Luca Mara Mei Mila Milo Nadia Nico "
    "Nils Nora Omar Otto Pia Quinn Ravi Rhea Rosa Samir Selma Sven Tara Theo Uma Vera Viktor "
    "Wanda Xenia Yara Yusuf Zara Zoe"
)
PAIRS = ((0, 3), (1, 4), (0, 4))  # weekdays of two visits 3 or 4 days apart


@dataclass(frozen=True, slots=True)
class Pool:
    """What is served: its kind, the minutes of an ordinary visit, its water in US gallons."""

    kind: str
    service_min: int
    volume_gal: int


@dataclass(frozen=True, slots=True)
class Customer:
    """An invented customer: the house, the pool and the agreement (weekdays: 0 is Monday)."""

    name: str
    house: House
    pool: Pool
    rhythm: str
    technician_id: str
    weekdays: tuple[int, ...]


def customers_of(houses: Sequence[House], rng: Random) -> list[Customer]:
    """Choose houses in knots, draw their pools, and lay out the standing routes over them."""
    chosen = _in_knots(houses, rng)
    pools = [_pool(rng) for _ in chosen]
    rhythms = ["weekly"] * SITES
    for rhythm, count in (("every-2-weeks", EVERY_2_WEEKS), ("every-4-weeks", EVERY_4_WEEKS)):
        for n in rng.sample([n for n in range(SITES) if rhythms[n] == "weekly"], count):
            rhythms[n] = rhythm
    weeks = {"weekly": 1, "every-2-weeks": 2, "every-4-weeks": 4}
    week_min = [
        (pool.service_min + DRIVE_MIN) / weeks[rhythm]
        for pool, rhythm in zip(pools, rhythms, strict=True)
    ]
    slots = standing_routes([house.gate for house in chosen], week_min)
    slots = [_drifted(slot, rng) for slot in slots]
    weekdays = _twice_a_week(rhythms, slots, rng)
    names = _names(rng)
    return [
        Customer(name, house, pool, rhythm, slot[0], days)
        for name, house, pool, rhythm, slot, days in zip(
            names, chosen, pools, rhythms, slots, weekdays, strict=True
        )
    ]


def _in_knots(houses: Sequence[House], rng: Random) -> list[House]:
    """Houses in knots: a first one anywhere, and a few within 350 m of it."""
    free = dict(enumerate(houses))
    chosen: list[House] = []
    while len(chosen) < SITES:
        seed = free[rng.choice(list(free))]
        near = [n for n, h in free.items() if math.dist(h.place, seed.place) < 350]
        knot = rng.sample(near, min(len(near), rng.randint(1, 2 * NEIGHBOURS - 1)))
        chosen += [free.pop(n) for n in knot]
    return chosen[:SITES]


def _drifted(slot: Slot, rng: Random) -> Slot:
    """The slot, now and then on another weekday of the same technician, as routes drift."""
    technician_id, day = slot
    days = sorted(next(t for t in CREW if t.id == technician_id).shifts)
    return (technician_id, rng.choice(days) if rng.random() < DRIFTED else day)


def _pool(rng: Random) -> Pool:
    kind, least_min, most_min, least_gal, most_gal, _ = rng.choices(KINDS, [k[5] for k in KINDS])[0]
    share = rng.random()
    volume_gal = round((least_gal + share * (most_gal - least_gal)) / 500) * 500
    return Pool(kind, round(least_min + share * (most_min - least_min)), volume_gal)


def _twice_a_week(rhythms: list[str], slots: Sequence[Slot], rng: Random) -> list[tuple[int, ...]]:
    """The usual weekdays; makes some weekly sites of early weekdays twice a week."""
    weekdays: list[tuple[int, ...]] = [(day,) for _, day in slots]
    shifts = {t.id: t.shifts for t in CREW}
    taken: Counter[Slot] = Counter()
    order = rng.sample(range(len(slots)), len(slots))
    for n in order:
        technician_id, day = slots[n]
        pairs = [p for p in PAIRS if p[0] == day and set(p) <= set(shifts[technician_id])]
        full = sum(taken.values()) == TWICE_A_WEEK or taken[slots[n]] == 3
        if rhythms[n] == "weekly" and pairs and not full:
            rhythms[n] = "twice-a-week"
            weekdays[n] = pairs[0]
            taken[slots[n]] += 1
    return weekdays


def _names(rng: Random) -> list[str]:
    """Generic names without anyone behind them: a first name and an initial."""
    pairs = [f"{first} {chr(65 + n)}." for first in _FIRST_NAMES.split() for n in range(26)]
    return rng.sample(pairs, SITES)


def names_of(weekdays: Sequence[int]) -> str:
    """Weekdays as a cell, as in 'Mon;Thu'."""
    return ";".join(WEEKDAYS[day] for day in weekdays)
