"""Published routing instances as weeks: periodic, with capacities, with time windows.

Read are the formats of Cordeau, Gendreau and Laporte (Networks 30, 1997), of CVRPLIB (`.vrp` with
EDGE_WEIGHT_TYPE EUC_2D; Uchoa et al., European Journal of Operational Research 257, 2017) and of
Solomon (Operations Research 35, 1987), the last also as a `.vrp` with TIME_WINDOW_SECTION.
Customers are sites, vehicles trucks, loads their payload. Distances follow each collection:
in double precision for the periodic ones, rounded to whole numbers with capacities alone, cut off
after one decimal with time windows.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np

from dispatch.clock import DAY_S, IsoWeek
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Cell, Demand, Prices, Problem
from dispatch.sites import ANY_TIME, TimeWindow
from dispatch.technicians import Shift

WEEK = IsoWeek(2026, 49)
UNITS = 100  # our whole seconds in one unit of an instance in double precision
LEGS = 40  # a route is believed to be no longer than so many of the longest legs
Point = tuple[float, float]
Distance = Callable[[Point, Point], float]


@dataclass(frozen=True, slots=True)
class Instance:
    """A published instance as a week, its places, and how its distances are taken."""

    problem: Problem
    places: tuple[Point, ...]
    distance: Distance

    def length(self, plan: WeekPlan) -> float:
        """Travelled distance as the collection counts it, from the order of the stops alone."""
        place_of = {one.site_id: one.place for one in self.problem.demands}
        return sum(self.tour([place_of[s.site_id] for s in one.stops]) for one in plan.routes)

    def tour(self, order: Iterable[int]) -> float:
        """Distance from the depot through the places of an order and back."""
        points = [self.places[n] for n in (0, *order, 0)]
        return sum(self.distance(a, b) for a, b in pairwise(points))


@dataclass(frozen=True, slots=True)
class Customer:
    """A customer as read; times are in the unit of the instance."""

    at: Point
    load: float = 0.0
    service: float = 0.0
    opens: float = 0.0
    closes: float = math.inf
    patterns: tuple[tuple[date, ...], ...] = ((WEEK.monday,),)


def rounded(a: Point, b: Point) -> float:
    """Distance rounded to a whole number, halves up."""
    return math.floor(math.dist(a, b) + 0.5)


def cut_off(a: Point, b: Point) -> float:
    """Distance with one decimal, the rest cut off."""
    return math.floor(10 * math.dist(a, b)) / 10


def read_instance(file: Path) -> Instance:
    """Read an instance of any of the formats, told apart by what stands in it."""
    text = file.read_text()
    if "NODE_COORD_SECTION" in text:
        return _read_sections(text)
    if "CUSTOMER" in text.upper():
        return _read_table(text)
    return _read_periodic(text)


def read_best(file: Path, instance: Instance) -> float:
    """The best known cost from the `.sol` file beside an instance, checked against its routes.

    Raises
    ------
    ValueError
        When the routes do not add up to the cost: the distances are not taken as they should be.
    """
    text = file.read_text()
    cost = float(re.findall(r"Cost\s*:?\s*([\d.]+)", text)[0])
    routes = re.findall(r"Route\s*#\d+\s*:\s*([\d ]+)", text)
    driven = sum(instance.tour(int(word) for word in route.split()) for route in routes)
    if abs(driven - cost) > 0.05:
        raise ValueError(f"The routes of {file.name} add up to {driven:.1f}, not to {cost:.1f}.")
    return cost


def _read_sections(text: str) -> Instance:
    """A `.vrp` file: words with a colon, then sections of numbers."""
    words = dict(re.findall(r"^(\w+)\s*:\s*(.*?)\s*$", text, re.MULTILINE))
    if words.get("EDGE_WEIGHT_TYPE") != "EUC_2D":
        raise ValueError(f"Distances of type {words.get('EDGE_WEIGHT_TYPE')} are not read here.")
    at = _section(text, "NODE_COORD")
    load = _section(text, "DEMAND")
    windows = _section(text, "TIME_WINDOW")
    service = _section(text, "SERVICE_TIME")
    (depot,) = (int(float(word)) for word in text.split("DEPOT_SECTION")[1].split()[:1])
    everywhere = float(words.get("SERVICE_TIME") or 0)
    customers = []
    for number in sorted(at, key=lambda n: (n != depot, n)):
        opens, closes = windows.get(number, [0.0, math.inf])
        lasts = service.get(number, [everywhere])[0] if number != depot else 0.0
        x, y = at[number]
        customers.append(Customer((x, y), load[number][0], lasts, opens, closes))
    trucks = int(words["VEHICLES"]) if "VEHICLES" in words else None
    return _one_day(customers, float(words["CAPACITY"]), trucks, timed=bool(windows))


def _section(text: str, name: str) -> dict[int, list[float]]:
    """Rows of a section by their first number; empty without one."""
    _, _, rest = text.partition(f"{name}_SECTION")
    rows: dict[int, list[float]] = {}
    for line in rest.splitlines()[1:]:
        words = line.split()
        if not words:
            continue
        if not re.fullmatch(r"[-+.\deE]+", words[0]):
            break
        rows[int(words[0])] = [float(word) for word in words[1:]]
    return rows


def _read_table(text: str) -> Instance:
    """Solomon's own table: number and capacity of vehicles, then a row for each place."""
    rows = [
        [float(word) for word in line.split()]
        for line in text.splitlines()
        if re.fullmatch(r"[\s\d.+-]+", line) and line.split()
    ]
    trucks, capacity = rows[0]
    customers = [
        Customer((x, y), load, lasts, opens, closes)
        for _, x, y, load, opens, closes, lasts in rows[1:]
    ]
    return _one_day(customers, capacity, int(trucks), timed=True)


def _one_day(
    customers: list[Customer], capacity: float, trucks: int | None, *, timed: bool
) -> Instance:
    """All on one day; without a number of trucks, more than the loads need."""
    if trucks is None:
        needed = math.ceil(sum(one.load for one in customers) / capacity)
        trucks = needed + max(2, needed // 10)
    horizon = customers[0].closes if timed else math.inf
    distance = cut_off if timed else rounded
    return _week(customers, [WEEK.monday], trucks, capacity, horizon, distance, 10 if timed else 1)


def _read_periodic(text: str) -> Instance:
    """Cordeau's format; surplus rows after the last customer are passed over."""
    rows = [line.split() for line in text.splitlines() if line.split()]
    _, trucks, count, days = map(int, rows[0][:4])
    longest, capacity = (float(word) for word in rows[1][:2])
    calendar = [WEEK.monday + timedelta(days=n) for n in range(days)]
    people = rows[1 + days : 2 + days + count]
    customers = [Customer((float(people[0][1]), float(people[0][2])))]
    customers += [_periodic_customer(row, calendar) for row in people[1:]]
    return _week(
        customers, calendar, trucks, capacity or 1e6, longest or math.inf, math.dist, UNITS
    )


def _periodic_customer(row: list[str], calendar: list[date]) -> Customer:
    """Columns i x y d q f a and a day combinations, whose bits are days from the left."""
    patterns = []
    for number in row[7 : 7 + int(row[6])]:
        bits = format(int(number), f"0{len(calendar)}b")
        patterns.append(tuple(d for d, bit in zip(calendar, bits, strict=True) if bit == "1"))
    at = (float(row[1]), float(row[2]))
    return Customer(at, float(row[4]), float(row[3]), patterns=tuple(patterns))


def _week(
    customers: list[Customer],
    calendar: list[date],
    trucks: int,
    capacity: float,
    horizon: float,
    distance: Distance,
    units: float,
) -> Instance:
    """A week of customers, the first of whom is the depot; `units` seconds are one of theirs."""
    places = tuple(one.at for one in customers)
    exact = np.array([[distance(a, b) for b in places] for a in places])
    longest = horizon if math.isfinite(horizon) else LEGS * float(exact.max())
    scale = min(units, DAY_S / longest)  # a day holds 86,400 of our seconds
    drive = np.floor(exact * scale + 0.5).astype(np.int64)
    shift = Shift(0, min(DAY_S, math.floor(horizon * scale)) if math.isfinite(horizon) else DAY_S)
    problem = Problem(
        week=WEEK,
        cells=tuple(
            Cell(f"T{n:03}", f"T{n}", day, shift, 0, 0, payload_kg=capacity)
            for n in range(trucks)
            for day in calendar
        ),
        demands=tuple(_demand(one, n, scale) for n, one in enumerate(customers) if n > 0),
        place_ids=tuple(str(n) for n in range(len(places))),
        drive_s=drive,
        drive_m=drive,
        prices=Prices(unplaced_s=int(10 * drive.max()), waiting=0),
    )
    return Instance(problem, places, distance)


def _demand(one: Customer, place: int, scale: float) -> Demand:
    site = f"C{place:04}"
    closes = one.closes * scale
    timed = one.opens > 0 or closes < DAY_S
    return Demand(
        site_id=site,
        visit_ids=tuple(f"{site}/{n + 1}" for n in range(len(one.patterns[0]))),
        place=place,
        patterns=one.patterns,
        service_s=round(one.service * scale),
        next_visit_on=WEEK.next.monday,
        windows=(TimeWindow(round(one.opens * scale), math.floor(closes)) if timed else ANY_TIME,),
        load_kg=one.load,
    )
