"""Places and distances."""

import math

import pytest
from geopy.distance import great_circle
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.places import EARTH_RADIUS_M, Place, straight_line_m

PLACES = st.builds(Place, st.floats(-90, 90), st.floats(-180, 180))


@given(PLACES, PLACES)
def test_straight_lines_agree_with_an_independent_great_circle(a: Place, b: Place) -> None:
    """geopy computes the same sphere by another formula; 1 m is its rounding near antipodes."""
    reference_m = great_circle((a.lat, a.lon), (b.lat, b.lon)).meters
    assert straight_line_m(a, b) == pytest.approx(reference_m, rel=1e-5, abs=1.0)


def test_a_quarter_of_the_equator_is_a_quarter_of_the_circumference() -> None:
    """Worked by hand: 90 degrees of longitude on the equator are pi / 2 times the radius."""
    metres = straight_line_m(Place(0, 0), Place(0, 90))
    assert metres == pytest.approx(math.pi / 2 * EARTH_RADIUS_M)


@pytest.mark.parametrize(("lat", "lon"), [(-111.9, 33.4), (90.1, 0), (0, 180.1), (math.nan, 0)])
def test_a_place_off_the_globe_is_refused_with_the_usual_cause(lat: float, lon: float) -> None:
    """Latitude and longitude swapped is the most common slip, so the message asks for it."""
    with pytest.raises(InvalidValue, match="swapped"):
        Place(lat, lon)
