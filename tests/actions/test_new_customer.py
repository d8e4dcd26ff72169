from __future__ import annotations

import pytest

from dispatch.actions.book import sites
from dispatch.actions.new_customer import Places, Wish, offer_list, places_for, take_on
from dispatch.actions.read_plan import week_plan
from dispatch.errors import AddressNotFound, InvalidValue
from dispatch.sites import Rhythm
from tests.town import TODAY, WEEK, Company


def places(company: Company, wish: Wish) -> Places:
    """The offers for a wish."""
    with company.reading() as session:
        return places_for(session, company.settings, WEEK, wish, TODAY)


def test_the_cheapest_place_is_beside_the_stops_already_there(planned: Company) -> None:
    """10 ab street lies 40 m beyond S2 on Alma's way: on Monday it costs hardly any drive."""
    found = places(planned, Wish("Invented Four", "10 ab street", service_min=20))
    best = found.offers[0]
    assert (best.technician_id, best.is_open) == ("T1", True)
    assert 20 * 60 <= best.extra_s < 23 * 60
    assert [one.extra_s for one in found.offers if one.is_open] == sorted(
        one.extra_s for one in found.offers if one.is_open
    )
    with planned.reading() as session:
        (monday,) = [r for r in week_plan(session, WEEK).routes if r.technician_id == "T1"]
    on_monday = next(
        day
        for one in found.offers
        if one.technician_id == "T1"
        for day in one.days
        if day.day == monday.day
    )
    assert on_monday.work_s == monday.work_s + on_monday.extra_s


def test_the_favourite_day_has_its_price(planned: Company) -> None:
    """Alma is off on Wednesday; Ben comes from afar."""
    found = places(planned, Wish("Invented Four", "2 ab street", favourite=2))
    assert found.best_on_favourite is not None
    assert found.best_on_favourite.technician_id == "T2"
    assert found.favourite_s == found.best_on_favourite.extra_s - found.offers[0].extra_s
    assert found.favourite_s >= 0


def test_visits_every_two_weeks_cost_half_a_week(planned: Company) -> None:
    """Extra minutes are those of an average week."""
    weekly = places(planned, Wish("Invented Four", "2 ab street"))
    rare = places(planned, Wish("Invented Four", "2 ab street", Rhythm.EVERY_2_WEEKS))
    assert rare.extra_s(rare.offers[0]) == round(weekly.offers[0].extra_s / 2)


def test_two_visits_a_week_are_priced_together(planned: Company) -> None:
    """Both by one technician, on the days of an agreed pattern."""
    found = places(planned, Wish("Invented Four", "2 ab street", Rhythm.TWICE_A_WEEK))
    assert all(len(one.days) == 2 for one in found.offers)
    assert found.offers[0].extra_s == sum(day.extra_s for day in found.offers[0].days)


def test_a_place_that_breaks_a_rule_says_which(planned: Company) -> None:
    """Nobody dives; it is offered all the same, with the reason."""
    found = places(planned, Wish("Invented Four", "2 ab street", skills=frozenset({"diving"})))
    assert not found.offers[0].is_open
    assert "lacks the skill 'diving'" in str(offer_list(found).rows[0])


def test_the_customer_is_taken_on_with_what_was_chosen(planned: Company) -> None:
    """The next id follows those there are."""
    wish = Wish("Invented Four", "2 ab street", service_min=25)
    found = places(planned, wish)
    with planned.writing() as session:
        site = take_on(session, wish, found.place, "T1", found.offers[0].weekdays)
        assert site.id == "S4"
        assert site in sites(session)
        with pytest.raises(InvalidValue, match="no technician 'T9'"):
            take_on(session, wish, found.place, "T9", {0})
    assert site.plan.usual_technician_id == "T1"
    assert site.plan.usual_weekdays == found.offers[0].weekdays


def test_room_that_was_promised_is_not_offered_once_more(planned: Company) -> None:
    """Two new customers on one Friday: the second hears of the day with the first in it."""
    wish = Wish("Invented Four", "2 ab street", service_min=240)
    first = places(planned, wish).offers[0]
    with planned.writing() as session:
        take_on(session, wish, places(planned, wish).place, first.technician_id, first.weekdays)

    second = places(planned, Wish("Invented Five", "10 ab street", service_min=240))

    assert second.promised == ("S4",)
    (day,) = next(
        one.days
        for one in second.offers
        if (one.technician_id, one.weekdays) == (first.technician_id, first.weekdays)
    )
    assert day.work_s == first.days[0].work_s + day.extra_s
    assert day.free_s < first.days[0].free_s - 239 * 60


def test_an_unknown_address_is_told(planned: Company) -> None:
    """The person on the telephone spells it again."""
    with pytest.raises(AddressNotFound):
        places(planned, Wish("Invented Four", "99 nowhere lane"))
