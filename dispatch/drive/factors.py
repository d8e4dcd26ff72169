"""How much slower than free flow a region is driven at a time of day, set by hand or learnt.

A drive time of the map times the factor is what a technician should count on. The company sets the
factors in a small file, or has them learnt from its own departures and arrivals.
"""

from __future__ import annotations

import json
import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from statistics import median
from typing import Any

from dispatch.clock import DAY_S
from dispatch.errors import InvalidValue, SettingsError
from dispatch.places import Place
from dispatch.words import _

# Seconds after local midnight at which each part of the day begins: schools begin about 8:30 and
# end about 14:30 to 15:30, offices close about 17:00 (common practice in the United States).
PARTS: Mapping[str, int] = {"morning": 0, "midday": 34_200, "school end": 50_400, "evening": 57_600}
# Shares of a technician's driving by part, for plans that know one time for the whole day: a shift
# from 7:00 to 15:30 has 2.5, 4.5 and 1.5 hours in the first three (common practice).
WORKING_DAY: Mapping[str, float] = {"morning": 0.3, "midday": 0.52, "school end": 0.18}
CLASSES = ("motorways", "main roads", "streets")
ELSEWHERE = "elsewhere"
LEAST, MOST = 0.3, 4.0  # a factor beyond is a slip of the pen: nowhere is traffic like that


@dataclass(frozen=True, slots=True)
class Region:
    """A box on the map with its factors; a part of the day that is not named has 1.0.

    `bounds` are south, west, north, east in degrees.

    Raises
    ------
    InvalidValue
        When the box is empty, a part of the day unknown, or a factor beyond `LEAST` to `MOST`.
    """

    name: str
    bounds: tuple[float, float, float, float]
    factors: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        south, west, north, east = self.bounds
        if not (-90 <= south < north <= 90 and -180 <= west < east <= 180):
            raise InvalidValue(
                _(
                    "The box {bounds} of region {name!r} is none: give south, west, north, "
                    "east in degrees, south below north and west below east."
                ).format(bounds=self.bounds, name=self.name)
            )
        for part, factor in self.factors.items():
            if part not in PARTS:
                raise InvalidValue(
                    _(
                        "{part!r} of region {name!r} is no part of the day; there are {parts}."
                    ).format(part=part, name=self.name, parts=", ".join(PARTS))
                )
            if not LEAST <= factor <= MOST:
                raise InvalidValue(
                    _(
                        "The factor {factor} of region {name!r} in the {part} is impossible; "
                        "give one from {least} to {most}, where 1 is free flow."
                    ).format(factor=factor, name=self.name, part=part, least=LEAST, most=MOST)
                )

    def holds(self, place: Place) -> bool:
        """Return whether a place lies in the box."""
        south, west, north, east = self.bounds
        return south <= place.lat <= north and west <= place.lon <= east


WORLD = Region(ELSEWHERE, (-90.0, -180.0, 90.0, 180.0))


@dataclass(frozen=True, slots=True)
class Factors:
    """Regions, the first that holds a place counts, and what holds elsewhere.

    `classes` are factors of road classes against each other (see `class_factors`); one that is not
    named has 1.0.
    """

    regions: tuple[Region, ...] = ()
    elsewhere: Region = WORLD
    classes: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, factor in self.classes.items():
            if name not in CLASSES or not LEAST <= factor <= MOST:
                raise InvalidValue(
                    _(
                        "The factor {factor} of road class {name!r} cannot be used; there are "
                        "{classes}, each from {least} to {most}."
                    ).format(
                        factor=factor, name=name, classes=", ".join(CLASSES), least=LEAST, most=MOST
                    )
                )

    def region_of(self, place: Place) -> Region:
        """Return the region of a place."""
        return next((one for one in self.regions if one.holds(place)), self.elsewhere)

    def factor(self, start: Place, end: Place, at_s: int) -> float:
        """Return the factor of a drive that begins `at_s` seconds after local midnight.

        Half of it is the start's, half the end's.
        """
        part = part_of(at_s)
        sides = (self.region_of(place).factors.get(part, 1.0) for place in (start, end))
        return sum(sides) / 2

    def working_day(self, place: Place) -> float:
        """Return a place's mean factor over a working day."""
        factors = self.region_of(place).factors
        return sum(share * factors.get(part, 1.0) for part, share in WORKING_DAY.items())


def part_of(at_s: int) -> str:
    """Return the part of the day of a time in seconds after local midnight."""
    begins = list(PARTS.values())
    return list(PARTS)[bisect_right(begins, at_s % DAY_S) - 1]


def read_factors(file: Path) -> Factors:
    """Return the factors of a file; free flow everywhere where there is none.

    The file is JSON: `{"regions": [{"name": "valley", "bounds": [33.4, -112.1, 33.6, -111.9],
    "factors": {"morning": 1.2}}], "elsewhere": {"evening": 1.1}, "classes": {"motorways": 0.95}}`.

    Raises
    ------
    SettingsError
        When it cannot be read as that.
    """
    if not file.is_file():
        return Factors()
    try:
        words: Any = json.loads(file.read_text(encoding="utf-8"))
        regions = tuple(
            Region(str(one["name"]), _bounds(one["bounds"]), _factors(one["factors"]))
            for one in words.get("regions", [])
        )
        elsewhere = replace(WORLD, factors=_factors(words.get("elsewhere", {})))
        return Factors(regions, elsewhere, _factors(words.get("classes", {})))
    except (ValueError, KeyError, TypeError, AttributeError, OSError, InvalidValue) as error:
        raise SettingsError(
            _(
                "The drive-time factors in {file} cannot be used: {__name__}, {error}. Correct "
                "the file, or delete it to count with free flow."
            ).format(file=file, __name__=type(error).__name__, error=error)
        ) from error


def write_factors(factors: Factors, file: Path) -> None:
    """Write factors as `read_factors` reads them."""
    words = {
        "regions": [
            {"name": one.name, "bounds": list(one.bounds), "factors": dict(one.factors)}
            for one in factors.regions
        ],
        "elsewhere": dict(factors.elsewhere.factors),
        "classes": dict(factors.classes),
    }
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(json.dumps(words, indent=2), encoding="utf-8")


def _bounds(words: Any) -> tuple[float, float, float, float]:
    south, west, north, east = map(float, words)
    return south, west, north, east


def _factors(words: Any) -> dict[str, float]:
    return {str(part): float(factor) for part, factor in words.items()}


@dataclass(frozen=True, slots=True)
class Driven:
    """A drive that was made: `expected_s` is the map's own time for it, without any factor.

    `class_s` are the seconds of it by road class, of `CLASSES`; empty where nobody looked.
    """

    start: Place
    end: Place
    departed_s: int  # seconds after local midnight
    drove_s: float
    expected_s: float
    class_s: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Learnt:
    """What the records say of one region and part of the day.

    `factor` is what is to be counted with, `observed` the plain ratio of seconds driven to seconds
    expected (0 without drives), `drives` their number. Where `enough` is false the factor is still
    that of the whole region, of everything, or 1, and `words` say so.
    """

    region: str
    part: str
    drives: int
    observed: float
    factor: float
    enough: bool
    words: str


SHORTEST_S = 60.0  # a drive shorter than a minute on the map is mostly parking
OUTLIER = 3.0  # driven in more than 3 times or less than a third: there was another stop in it
# Beyond so many robust standard deviations from the median of its part of the day, too; of honest
# drives one in eighty is lost on both sides together.
FAR = 2.5
ROUNDS = 3  # many stops widen the spread by which they are told; less so once some are gone
LEAST_SPREAD = 0.1  # of log(driven / expected), where nearly all drives are alike
ENOUGH_DRIVES = 20  # fewer than a technician makes in two days say nothing of a part of the day
SPREAD = 0.10  # standard deviation of true factors between regions and parts; common practice
DRIVE_SPREAD = 0.30  # standard deviation of log(driven / expected) of single drives, at the least


def learn_factors(records: Sequence[Driven], known: Factors) -> tuple[Factors, tuple[Learnt, ...]]:
    """Learn the factors of the regions that are known from drives that were made.

    Parameters
    ----------
    records
        Drives; those with another stop in them are left out (see `without_stops`). Each counts for
        the regions of its start and its end, half for each.
    known
        The regions; their factors are not looked at.

    Returns
    -------
    tuple
        The factors, and how each came about, by region and part of the day in their order.

    Notes
    -----
    The ratio of all seconds driven to all seconds expected, so that a day's total comes out right,
    is drawn towards what is known more broadly: a part of the day towards its region, a region
    towards everything, everything towards 1. With n drives it is weighed n / (n + k), where k is
    the variance of single drives over that of true factors (empirical Bayes; B. Efron and
    C. Morris, Journal of the American Statistical Association 70, 1975).
    """
    used = without_stops(records)
    regions = (*known.regions, known.elsewhere)
    everything = _drawn(_Sums.of([(one, 1.0) for one in used]), 1.0)
    learnt: list[Learnt] = []
    fresh: list[Region] = []
    for region in regions:
        inside = [(one, share) for one in used if (share := _share(known, region, one)) > 0]
        whole = _drawn(_Sums.of(inside), everything)
        rows = [
            _learnt(
                region.name,
                part,
                _Sums.of([row for row in inside if part_of(row[0].departed_s) == part]),
                whole,
            )
            for part in PARTS
        ]
        learnt += rows
        fresh.append(replace(region, factors={row.part: row.factor for row in rows}))
    return replace(known, regions=tuple(fresh[:-1]), elsewhere=fresh[-1]), tuple(learnt)


def corrected(drive: Driven, classes: Mapping[str, float]) -> Driven:
    """Return a drive whose expected time counts with factors of road classes."""
    more_s = sum(seconds * (classes.get(name, 1.0) - 1) for name, seconds in drive.class_s.items())
    return replace(drive, expected_s=max(1.0, drive.expected_s + more_s))


def without_stops(records: Sequence[Driven]) -> list[Driven]:
    """Return the drives without those that held a lunch, a shop or another stop, or a wrong time.

    Left out are drives under `SHORTEST_S`, those that took `OUTLIER` times what was expected, and
    those `FAR` from the median of their part of the day, in standard deviations told by the median
    deviation (F. R. Hampel, Journal of the American Statistical Association 69, 1974).
    """
    used: list[Driven] = []
    for part in PARTS:
        rows = [one for one in records if _is_plain(one) and part_of(one.departed_s) == part]
        for _rest in range(ROUNDS):
            rows = _near_the_median(rows)
        used += rows
    return used


def _near_the_median(rows: list[Driven]) -> list[Driven]:
    if not rows:
        return rows
    ratios = [math.log(one.drove_s / one.expected_s) for one in rows]
    middle = median(ratios)
    spread = 1.4826 * median(abs(ratio - middle) for ratio in ratios)  # of a normal distribution
    most = FAR * max(spread, LEAST_SPREAD)
    return [one for one, ratio in zip(rows, ratios, strict=True) if abs(ratio - middle) <= most]


@dataclass(frozen=True, slots=True)
class _Sums:
    """Sums over drives, each with its share in a region."""

    drives: float = 0.0
    drove_s: float = 0.0
    expected_s: float = 0.0
    squares: float = 0.0  # of log(driven / expected)

    @classmethod
    def of(cls, rows: Sequence[tuple[Driven, float]]) -> _Sums:
        ratios = [math.log(one.drove_s / one.expected_s) for one, _ in rows]
        shares = [share for _, share in rows]
        mean = sum(map(math.prod, zip(ratios, shares, strict=True))) / (sum(shares) or 1)
        return cls(
            sum(shares),
            sum(one.drove_s * share for one, share in rows),
            sum(one.expected_s * share for one, share in rows),
            sum(share * (ratio - mean) ** 2 for ratio, share in zip(ratios, shares, strict=True)),
        )


def _is_plain(one: Driven) -> bool:
    if one.expected_s < SHORTEST_S or one.drove_s <= 0:
        return False
    return 1 / OUTLIER < one.drove_s / one.expected_s < OUTLIER


def _share(known: Factors, region: Region, one: Driven) -> float:
    return sum(known.region_of(place) is region for place in (one.start, one.end)) / 2


def _drawn(sums: _Sums, towards: float) -> float:
    """Return the factor of some drives, drawn towards what is known more broadly.

    Too few drives say nothing, not even of a region as a whole.
    """
    if sums.drives < ENOUGH_DRIVES:
        return towards
    variance = max(DRIVE_SPREAD**2, sums.squares / sums.drives)
    weight = sums.drives / (sums.drives + variance / SPREAD**2)
    observed = sums.drove_s / sums.expected_s
    return math.exp(weight * math.log(observed) + (1 - weight) * math.log(towards))


def _learnt(region: str, part: str, sums: _Sums, whole: float) -> Learnt:
    count = round(sums.drives)
    enough = sums.drives >= ENOUGH_DRIVES
    factor = round(min(MOST, max(LEAST, _drawn(sums, whole))), 3)
    observed = sums.drove_s / sums.expected_s if sums.expected_s else 0.0
    words = (
        _(
            "{region}, {part}: {observed:.2f} times free flow in {count} drives, counted as "
            "{factor}."
        ).format(region=region, part=part, observed=observed, count=count, factor=factor)
        if enough
        else _(
            "{region}, {part}: too little data, {count} drives of at least {enough_drives}; "
            "counted as {factor}, as everywhere around it."
        ).format(region=region, part=part, count=count, enough_drives=ENOUGH_DRIVES, factor=factor)
    )
    return Learnt(region, part, count, round(observed, 3), factor, enough, words)
