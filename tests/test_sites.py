"""Sites, service plans, holds."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.sites import (
    Filter,
    Hold,
    Media,
    Rhythm,
    ServicePlan,
    Site,
)
from tests.pools import GATE

MON, TUE, THU, SAT = 0, 1, 3, 5


@pytest.mark.parametrize("mass_kg", [0.0, -1.0, 2001.0])
def test_a_filling_that_no_filter_holds_is_refused(mass_kg: float) -> None:
    """The largest residential tank (36 in) holds about 400 kg (common practice)."""
    with pytest.raises(InvalidValue, match="filling"):
        Filter(Media.SAND, None, mass_kg)


@pytest.mark.parametrize("volume_l", [10.0, 2e7])
def test_a_pool_volume_in_the_wrong_unit_is_refused(volume_l: float) -> None:
    """Cubic metres in place of litres are a thousand times too few."""
    with pytest.raises(InvalidValue, match="litres"):
        Site("S1", "A", "", GATE, ServicePlan(Rhythm.WEEKLY, 25), pool_volume_l=volume_l)


@pytest.mark.parametrize("email", ["a@b.example\nBcc: c@d.example", "a b@c.example", "ä@b.example"])
def test_an_address_that_could_add_a_heading_to_a_letter_is_none(email: str) -> None:
    """Whichever way it came in; it is personal, and not repeated."""
    with pytest.raises(InvalidValue, match="cannot be used") as caught:
        Site("S1", "A", "", GATE, ServicePlan(Rhythm.WEEKLY, 25), email=email)
    assert email not in str(caught.value)


@pytest.mark.parametrize(("id_", "name"), [("", "A"), ("S1", "")])
def test_a_site_needs_id_and_name(id_: str, name: str) -> None:
    """Both are how people speak of it."""
    with pytest.raises(InvalidValue, match="id and a name"):
        Site(id_, name, "", GATE, ServicePlan(Rhythm.WEEKLY, 25))


def test_a_hold_that_ends_before_it_begins_is_refused() -> None:
    """Two days swapped would hold nothing."""
    with pytest.raises(InvalidValue, match="swap the two"):
        Hold("S1", date(2026, 12, 2), date(2026, 12, 1))


@given(st.dates(), st.dates(), st.dates())
def test_a_hold_covers_its_first_and_last_day_and_all_between(a: date, b: date, day: date) -> None:
    """Both ends are without visits: that is what people mean by 'away until the 5th'."""
    hold = Hold("S1", min(a, b), max(a, b))
    assert hold.covers(hold.first_day)
    assert hold.covers(hold.last_day)
    assert hold.covers(day) == (min(a, b) <= day <= max(a, b))
