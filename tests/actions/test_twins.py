from __future__ import annotations

import pytest

from dispatch.actions.book import import_sites, sites
from dispatch.actions.new_customer import Wish, take_on
from dispatch.actions.twins import twins_told
from dispatch.errors import InvalidValue
from dispatch.places import Place
from tests.town import Company


def test_a_button_pressed_twice_takes_a_customer_on_once(company: Company) -> None:
    """Two sites would be two visits a week at one pool."""
    there = Place(0, 0.002)
    with company.writing() as session:
        first = take_on(session, Wish("Invented Four", "2 ab street"), there, "T1", {0})
        again = Wish("invented  four", "2 AB Street")
        with pytest.raises(InvalidValue, match=f"already, as site {first.id}"):
            take_on(session, again, there, "T1", {0})
        second = take_on(session, Wish("Invented Four, spa", "2 ab street"), there, "T1", {0})
        assert first.id != second.id
        assert twins_told(sites(session)) == []


def test_a_customer_who_comes_in_a_table_under_another_id_is_told(company: Company) -> None:
    """A list with ids of its own, taken in twice; without addresses the place tells."""
    head = "id,name,address,lat,lon,rhythm,service_min\n"
    rows = (
        "A1,Invented Four,2 ab street,0,0.001,weekly,30\n"
        "A2,Invented Five,,0,0.002,weekly,30\n"
        "A3,Invented Five,,0,0.003,weekly,30\n"
    )
    with company.writing() as session:
        import_sites(session, company.settings, head + rows)
        assert twins_told(sites(session)) == []
        import_sites(session, company.settings, head + rows.replace("A", "B"))
        told = twins_told(sites(session))
    assert len(told) == 3
    assert told[0].startswith("Site B1 has the name and the address of site A1")
