"""Weeks of made-up companies on invented streets, the same for the same numbers and seed.

Sites and homes lie at random along the streets of an invented metropolitan area (see
`sample_region.metro`); drive times are the product's own on that map, one-way streets, turn rules
and all, and so not symmetric. Per hundred sites: ten have a window, eight are visited twice a week
(Mon or Tue, then Thu or Fri) and two on Mon, Wed and Fri, ten stay closed on Fri, five are fixed to
one day, five are locked to a technician and six need a skill; fourteen have upkeep that may be
done or put off, half of it heavy. Technicians have a skill or two, homes or the yard to start from,
half an hour's meal, and one in five a short week of long days.

Usually pools lie close (the nearest about 50 s away) and shifts are three quarters full. `FAR` is
another company: the nearest pool a minute and a half away, driving and service nine tenths of the
shifts.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path

import numpy as np

from dispatch.clock import IsoWeek
from dispatch.drive.compact import compact
from dispatch.drive.graph import RoadMap
from dispatch.drive.matrix import DriveMatrix, compute_matrix
from dispatch.drive.osm import read_streets
from dispatch.drive.snap import snap_all
from dispatch.drive.speeds import SpeedModel
from dispatch.planning.problem import Cell, Demand, Problem
from dispatch.sites import ANY_TIME, TimeWindow
from dispatch.technicians import Break, Shift
from dispatch.upkeep import Part, UpkeepDue
from sample_region.metro import write_metro
from tests.bench.drive_accuracy import random_places

WEEK = IsoWeek(2026, 49)
DAYS = WEEK.days[:5]
HOUR = 3600
NOON = Break(30, 11 * HOUR, 13 * HOUR)
JUNCTIONS = 5_000  # of the smallest area
TWICE = tuple((a, b) for a in DAYS[:2] for b in DAYS[3:])
THRICE = ((DAYS[0], DAYS[2], DAYS[4]),)
WINDOWS = (  # when service may begin, where a site says so
    TimeWindow(7 * HOUR, 9 * HOUR),
    TimeWindow(9 * HOUR, 12 * HOUR),
    TimeWindow(13 * HOUR, 15 * HOUR),
)
# minutes, kg and skill of the upkeep; believable, our own choice
UPKEEP = {
    "sand-change": (60, 136.0, "media"),
    "anode-look": (15, 2.0, None),
    "cell-clean": (20, 0.0, None),
}


@dataclass(frozen=True, slots=True)
class Area:
    """How widely pools are scattered, and the service that would fill a truck-day beside drives."""

    junctions_per_site: int
    service_min: float


CLOSE = Area(6, 350.0)
FAR = Area(60, 410.0)


@dataclass(frozen=True, slots=True)
class Size:
    """Sites and technicians of a company."""

    sites: int
    technicians: int

    @classmethod
    def parse(cls, text: str) -> Size:
        """Read '400/8'."""
        sites, technicians = text.split("/")
        return cls(int(sites), int(technicians))

    def __str__(self) -> str:
        return f"{self.sites}/{self.technicians}"


def company(size: Size, seed: int = 0, *, upkeep: bool = True, area: Area = CLOSE) -> Problem:
    """A week of a made-up company; no site has a usual technician or day unless it is locked.

    Without `upkeep` there is nothing to choose but routes, so that all plans do the same work.
    """
    chance = np.random.default_rng(seed)
    matrix = _matrix(size, seed, area)
    cells = _cells(size)
    demands = tuple(_demand(n, size, area, matrix, chance) for n in range(size.sites))
    if not upkeep:
        demands = tuple(replace(one, upkeep=()) for one in demands)
    return Problem(
        week=WEEK,
        cells=cells,
        demands=demands,
        place_ids=matrix.ids,
        drive_s=matrix.drive_s.astype(np.int64),
        drive_m=matrix.drive_m.astype(np.int64),
    )


def _matrix(size: Size, seed: int, area: Area) -> DriveMatrix:
    """Drives between the yard (row 0), the technicians' homes and the sites."""
    road_map = _streets(JUNCTIONS + area.junctions_per_site * size.sites)
    places = random_places(road_map, 1 + size.technicians + size.sites, 0.0, seed)
    snaps, lost = snap_all(road_map, places)
    assert not lost
    return compute_matrix(road_map, snaps)


@lru_cache(maxsize=1)
def _streets(junctions: int) -> RoadMap:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "metro.osm.pbf"
        write_metro(file, junctions)
        return compact(read_streets(file), SpeedModel(), file.name)


def _cells(size: Size) -> tuple[Cell, ...]:
    cells = []
    for t in range(size.technicians):
        home = 1 + t
        few = t % 5 == 4  # a short week of long days
        shift = Shift(6 * HOUR + HOUR // 2, 17 * HOUR) if few else Shift(7 * HOUR, 31 * HOUR // 2)
        skills = {"media"} if t % 2 == 0 else set[str]()
        skills |= {"commercial"} if t % 3 == 0 else set()
        cells += [
            Cell(
                technician_id=f"T{t:02}",
                technician_name=f"T{t:02}",
                day=day,
                shift=shift,
                start=0 if t % 4 == 3 else home,
                end=home,
                skills=frozenset(skills),
                payload_kg=300.0 if t % 2 == 0 else 180.0,
                meal=NOON,
            )
            for n, day in enumerate(DAYS)
            if not few or n != t % 10 // 2
        ]
    return tuple(cells)


def _demand(
    n: int, size: Size, area: Area, matrix: DriveMatrix, chance: np.random.Generator
) -> Demand:
    site, place = f"S{n:05}", 1 + size.technicians + n
    patterns, usual = _patterns(n, chance), None
    if n % 20 == 11:  # locked to the nearest
        usual = f"T{int(np.argmin(matrix.drive_s[1 : 1 + size.technicians, place])):02}"
    minutes = _minutes(size, area, chance)
    window = WINDOWS[n // 10 % 3] if n % 10 == 3 else ANY_TIME
    return Demand(
        site_id=site,
        visit_ids=tuple(f"{site}/{WEEK}/{k + 1}" for k in range(len(patterns[0]))),
        place=place,
        patterns=patterns,
        service_s=60 * minutes,
        next_visit_on=WEEK.next.monday,
        windows=(window,),
        skills=frozenset({"commercial"}) if n % 17 == 5 and usual is None else frozenset(),
        usual_technician_id=usual,
        technician_locked=usual is not None,
        upkeep=_upkeep(n, site, chance),
        load_kg=float(chance.integers(3, 9)),  # chemicals of one visit
    )


def _minutes(size: Size, area: Area, chance: np.random.Generator) -> int:
    """Minutes of a visit, so that about the same share of every company's shifts is filled."""
    visits_a_day = 1.12 * size.sites / (4.8 * size.technicians)
    return int(area.service_min / visits_a_day * chance.uniform(0.7, 1.3))


def _patterns(n: int, chance: np.random.Generator) -> tuple[tuple[date, ...], ...]:
    kind = n % 100
    if kind in (0, 50):
        return THRICE
    if kind % 12 == 1 and kind < 90:
        return TWICE
    if kind % 20 == 7:
        return ((DAYS[int(chance.integers(5))],),)
    return tuple((day,) for day in (DAYS[:4] if kind % 10 == 9 else DAYS))


def _upkeep(n: int, site: str, chance: np.random.Generator) -> tuple[UpkeepDue, ...]:
    """One upkeep at every seventh site, more or less urgent."""
    left = int(chance.integers(-20, 40))  # days from Monday to the latest
    if n % 7 != 4:
        return ()
    kind = list(UPKEEP)[0 if n % 2 else 1 + n // 2 % 2]
    minutes, mass_kg, skill = UPKEEP[kind]
    latest = WEEK.monday + timedelta(days=max(left, 1))
    return (
        UpkeepDue(
            site_id=site,
            kind=kind,
            title=kind.replace("-", " ").capitalize(),
            earliest_on=WEEK.monday - timedelta(days=30),
            due_on=min(latest, WEEK.monday),
            latest_on=latest,
            minutes=minutes,
            skill=skill,
            parts=(Part("bags", 1, mass_kg),) if mass_kg else (),
        ),
    )
