"""House numbers that a map gives as ranges: a line along a street, from one number to another.

The meaning of `addr:interpolation` follows the OpenStreetMap wiki (page Addresses), as remembered;
the wiki text was not at hand. Numbers between are set evenly along the line.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from dispatch.drive.extract import Address
from dispatch.errors import InvalidValue
from dispatch.words import N_, _

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    from dispatch.drive.cut import Points, Raw

    Floats = npt.NDArray[np.float64]

STEPS = {"odd": 2, "even": 2, "all": 1}
MOST_BETWEEN = 1000  # more numbers in one range are a slip of the pen; common practice
LETTERED = re.compile(r"^(\d*) ?([A-Za-z])$")
UNCLEAR = N_("house number ranges that are unclear")


def take_ranges(raw: Raw, points: Points) -> None:
    """Add the addresses within the ranges of a map to those that were read.

    A range between numbers of two streets, or of numbers that do not fit its rule, is left out and
    counted.
    """
    wanted = set(raw.range_lines.refs)
    known = {
        ref: address
        for ref, address in zip(raw.address_node, raw.addresses, strict=True)
        if ref in wanted
    }
    refs = np.frombuffer(raw.range_lines.refs, dtype=np.int64)
    first = 0
    for rule, count in zip(raw.ranges, raw.range_lines.counts, strict=True):
        line = refs[first : first + count]
        first += count
        at = np.searchsorted(points.ref, line)
        places = np.column_stack([points.lon[at], points.lat[at]])
        numbered = [(i, known[ref]) for i, ref in enumerate(line.tolist()) if ref in known]
        try:
            found = list(_within(rule, numbered, places))
        except InvalidValue:
            found = []
            raw.left_out[UNCLEAR] += 1
        for address in found:
            raw.addresses.append(address)
            raw.address_node.append(0)


def numbers_between(low: str, high: str, rule: str) -> list[str]:
    """Return the house numbers between two others, without them, from the first to the last.

    Parameters
    ----------
    low, high
        Numbers such as '12', or '12a' for the rule 'alphabetic'; either may be the larger one.
    rule
        'odd', 'even', 'all', 'alphabetic', or a figure: every so many.

    Raises
    ------
    InvalidValue
        When the numbers do not fit the rule.
    """
    if rule == "alphabetic":
        return _letters_between(low, high)
    step = int(rule) if rule.isdecimal() else STEPS.get(rule, 0)
    if not step or not (low.isdecimal() and high.isdecimal()):
        raise _unclear(low, high, rule)
    begin, end = int(low), int(high)
    span = abs(end - begin)
    if span % step or span > step * MOST_BETWEEN:
        raise _unclear(low, high, rule)
    if rule in ("odd", "even") and begin % 2 != (rule == "odd"):
        raise _unclear(low, high, rule)
    step = step if begin < end else -step
    return [str(number) for number in range(begin + step, end, step)]


def _letters_between(low: str, high: str) -> list[str]:
    """Return 12b and 12c between 12a and 12d."""
    ends = [LETTERED.match(number) for number in (low, high)]
    if ends[0] is None or ends[1] is None or ends[0].group(1) != ends[1].group(1):
        raise _unclear(low, high, "alphabetic")
    begin, end = (ord(match.group(2).lower()) for match in ends if match)
    step = 1 if begin < end else -1
    return [f"{ends[0].group(1)}{chr(letter)}" for letter in range(begin + step, end, step)]


def _within(rule: str, numbered: list[tuple[int, Address]], places: Floats) -> Iterator[Address]:
    """Yield the addresses between each two numbered points of a line."""
    if len(numbered) < 2:
        raise InvalidValue(_("A range of house numbers has fewer than two; number both its ends."))
    for (i, low), (j, high) in pairwise(numbered):
        if low.street != high.street:
            raise _unclear(f"{low.number} {low.street}", f"{high.number} {high.street}", rule)
        numbers = numbers_between(low.number, high.number, rule)
        for number, (lon, lat) in zip(
            numbers, _evenly(places[i : j + 1], len(numbers)), strict=True
        ):
            town, postcode = low.town or high.town, low.postcode or high.postcode
            yield Address(low.street, number, town, postcode, lat, lon, within_range=True)


def _evenly(line: Floats, count: int) -> list[tuple[float, float]]:
    """Return so many places along a line of lon, lat rows, its ends not among them."""
    line = line[~np.isnan(line).any(axis=1)]
    stretch = np.array([np.cos(np.radians(line[0, 1])), 1.0])
    step = np.linalg.norm(np.diff(line, axis=0) * stretch, axis=1)
    at = np.concatenate([[0.0], np.cumsum(step)])
    wanted = at[-1] * np.arange(1, count + 1) / (count + 1)
    lon, lat = (np.interp(wanted, at, line[:, axis]) for axis in (0, 1))
    return list(zip(lon.tolist(), lat.tolist(), strict=True))


def _unclear(low: str, high: str, rule: str) -> InvalidValue:
    return InvalidValue(
        _(
            "House numbers from {low} to {high} are no range of the kind {rule!r}; correct the map."
        ).format(low=low, high=high, rule=rule)
    )
