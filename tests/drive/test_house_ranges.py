"""House numbers that the map gives as ranges."""

from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.drive.geocode import ExtractGeocoder
from dispatch.drive.house_ranges import UNCLEAR, numbers_between
from dispatch.drive.osm import read_streets
from dispatch.errors import InvalidValue
from tests.drive.drawing import Drawing, Tags, roads


@pytest.mark.parametrize(
    ("low", "high", "rule", "between"),
    [
        ("2", "8", "even", ["4", "6"]),
        ("7", "1", "odd", ["5", "3"]),
        ("1", "4", "all", ["2", "3"]),
        ("10", "30", "10", ["20"]),
        ("12a", "12d", "alphabetic", ["12b", "12c"]),
        ("c", "a", "alphabetic", ["b"]),
        ("2", "4", "even", []),
    ],
)
def test_the_numbers_between_two(low: str, high: str, rule: str, between: list[str]) -> None:
    """Each rule of the map, up and down the street."""
    assert numbers_between(low, high, rule) == between


@pytest.mark.parametrize(
    ("low", "high", "rule"),
    [
        ("2", "9", "even"),
        ("2", "8", "odd"),
        ("2", "8", "every"),
        ("2", "8", "0"),
        ("2a", "8", "even"),
        ("1", "9999", "all"),
        ("12a", "14c", "alphabetic"),
        ("12", "12c", "alphabetic"),
    ],
)
def test_numbers_that_do_not_fit_their_rule_are_refused(low: str, high: str, rule: str) -> None:
    """Guessing would send a truck to a wrong gate."""
    with pytest.raises(InvalidValue, match="no range of the kind"):
        numbers_between(low, high, rule)


def with_range(first: Tags, last: Tags, rule: str) -> Drawing:
    """Return a street of 100 m with a range of house numbers between the points c and d.

    The street leads from a to b; c and d lie beside its ends.
    """
    drawing = roads("a---b\n\nc---d")
    drawing.point_tags |= {"c": first, "d": last}
    drawing.streets["cd"] = {"addr:interpolation": rule}
    return drawing


def number(house: str, street: str = "Oak Street") -> Tags:
    """Return the tags of a house."""
    return {"addr:housenumber": house, "addr:street": street, "addr:city": "Millbrook"}


def test_addresses_within_a_range_lie_evenly_along_its_line(tmp_path: Path) -> None:
    """From 2 to 10 in 100 m: 4 at 25 m, 6 at 50 m, 8 at 75 m."""
    drawing = with_range(number("2"), number("10"), "even")
    extract = read_streets(drawing.write(tmp_path))
    found = {a.number: a for a in extract.addresses}
    assert sorted(found, key=int) == ["2", "4", "6", "8", "10"]
    assert [found[n].within_range for n in ("2", "4", "10")] == [False, True, False]
    for share, house in ((0.25, "4"), (0.5, "6"), (0.75, "8")):
        place = drawing.at("cd", share)
        assert (found[house].lat, found[house].lon) == pytest.approx(
            (place.lat, place.lon), abs=1e-7
        )
    assert extract.left_out == {}
    location = ExtractGeocoder(extract.addresses).locate("6 Oak Street, Millbrook")
    assert location.raw == {"interpolated": True}


def test_a_number_that_stands_on_the_map_wins_over_a_range(tmp_path: Path) -> None:
    """The house itself is known better than its share of a line."""
    drawing = with_range(number("2"), number("10"), "even")
    drawing.houses.append(("6", "Oak Street", "Millbrook", drawing.at("ab", 0.9)))
    geocoder = ExtractGeocoder(read_streets(drawing.write(tmp_path)).addresses)
    location = geocoder.locate("6 Oak Street, Millbrook")
    assert location.raw == {"interpolated": False}
    assert location.longitude == pytest.approx(drawing.at("ab", 0.9).lon, abs=1e-7)


@pytest.mark.parametrize(
    ("first", "last", "rule"),
    [
        (number("2"), number("10", "Elm Street"), "even"),
        (number("2"), {}, "even"),
        (number("2"), number("9"), "even"),
    ],
)
def test_unclear_ranges_are_counted_and_left_out(
    first: Tags, last: Tags, rule: str, tmp_path: Path
) -> None:
    """Two streets, one number alone, odd and even: none says where a house is."""
    extract = read_streets(with_range(first, last, rule).write(tmp_path))
    assert extract.left_out == {UNCLEAR: 1}
    assert not any(a.within_range for a in extract.addresses)
