from __future__ import annotations

from datetime import date

import pytest

from dispatch.actions.book import import_technicians
from dispatch.actions.forecasts import forecasts
from dispatch.actions.holds import add_hold
from dispatch.actions.level_upkeep import level_upkeep
from dispatch.actions.standing_days import standing_days
from dispatch.actions.what_if import (
    compared,
    compared_list,
    hiring,
    month_list,
    reckon_what_if,
    supposition_of,
)
from dispatch.errors import Cancelled, InvalidValue, NotFound
from dispatch.sites import Hold
from dispatch.store.book import read_sites, read_technicians
from tests.town import TODAY, WEEK, Company


def test_today_and_what_if_stand_side_by_side(company: Company) -> None:
    """With Ben gone Alma has all three pools, 115 min of service; the book stays as it is."""
    with company.reading() as session:
        before = read_sites(session), read_technicians(session)
    wish = {"kind": "leaves", "technician_id": "T2"}
    made = reckon_what_if(company.engine, company.settings, wish, today=TODAY)

    with company.reading() as session:
        assert (read_sites(session), read_technicians(session)) == before
        assert compared(session) == made
    assert made.words == "Invented Ben leaves"
    assert (made.today.stops, made.then.stops) == (4, 4)
    assert [one.technician_id for one in made.then.technicians] == ["T1"]
    assert made.then.technicians[0].work_s >= 115 * 60
    assert made.then.cost > 0
    names = [row[0] for row in compared_list(made).rows]
    assert "Invented Ben, h a week" in names


def test_a_comparison_that_is_stopped_is_not_kept(company: Company) -> None:
    """One side planned in a hurry would say that Ben's leaving costs hours of driving."""
    wish = {"kind": "leaves", "technician_id": "T2"}
    made = reckon_what_if(company.engine, company.settings, wish, today=TODAY)
    with pytest.raises(Cancelled, match="the comparison before stays"):
        reckon_what_if(
            company.engine,
            company.settings,
            {"kind": "hired", "technician_id": "T1"},
            today=TODAY,
            should_stop=lambda: True,
        )
    with company.reading() as session:
        assert compared(session) == made


def test_two_technicians_of_one_name_have_their_own_hours(company: Company) -> None:
    """Fathers and sons; one line for both would show the hours of one of them."""
    with company.writing() as session:
        import_technicians(session, company.settings, "id,name\nT2,Invented Alma\n")
    made = reckon_what_if(
        company.engine, company.settings, {"kind": "leaves", "technician_id": "T2"}, today=TODAY
    )
    rows = [row for row in compared_list(made).rows if row[0] == "Invented Alma, h a week"]
    hours = [one.work_s / 3600 for one in made.today.technicians]
    assert [row[1] for row in rows] == pytest.approx(hours, abs=0.005)
    assert rows[1][2] == 0


def test_a_customer_who_left_is_counted_on_no_more(company: Company) -> None:
    """S2 has records, so it cannot be deleted and has a hold that does not end instead."""
    left = Hold("S2", TODAY, date(2099, 12, 31), "left")
    away = Hold("S3", WEEK.monday, date(2027, 3, 1), "away for the winter")
    with company.writing() as session:
        add_hold(session, left)
        add_hold(session, away)
    made = level_upkeep(company.engine, company.settings, today=TODAY, weeks=52)
    wish = {"kind": "hired", "technician_id": "T1"}
    compare = reckon_what_if(company.engine, company.settings, wish, today=TODAY)
    with company.reading() as session:
        served = {site for one in standing_days(session, WEEK) for site in one.site_ids}
        coming = forecasts(session, TODAY)

    assert compare.today.customers == 2
    assert served == {"S1", "S3"}
    assert "S2" not in {one.site_id for one in coming}
    assert not any("S2" in words for words in (str(one) for one in made.left_out))


def test_pools_bought_bring_their_visits(company: Company) -> None:
    """Two weekly pools beside the street ab, 20 min each."""
    wish = {
        "kind": "bought",
        "count": 2,
        "lat": 0.0,
        "lon": 0.0015,
        "radius_m": 50,
        "service_min": 20,
    }
    made = reckon_what_if(company.engine, company.settings, wish, today=TODAY)

    assert made.then.customers == made.today.customers + 2
    assert made.then.stops == made.today.stops + 2
    assert made.then.work_s - made.today.work_s >= 2 * 20 * 60 - 120


@pytest.mark.parametrize(
    "wish",
    [{}, {"kind": "magic"}, {"kind": "bought", "count": 2}, {"kind": "rhythm", "rhythm": "x"}],
)
def test_words_that_suppose_nothing_are_refused(wish: dict[str, object]) -> None:
    """Before anything is put into the queue."""
    with pytest.raises(InvalidValue):
        supposition_of(wish)


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"kind": "leaves", "technician_id": None}, "in a shell --technician"),
        ({"kind": "hired", "technician_id": ""}, "in a shell --technician"),
        ({"kind": "bought", "count": 2, "lat": None, "lon": None, "radius_m": 500}, "--lat and"),
        ({"kind": "bought", "count": 2, "lat": 60.1, "radius_m": 500}, "--lat and --lon"),
    ],
)
def test_a_supposition_without_its_technician_or_place_says_what_to_give(
    wish: dict[str, object], words: str
) -> None:
    """In the words of whoever asks, in a shell or in JSON."""
    with pytest.raises(InvalidValue, match=words):
        supposition_of(wish)


def test_the_year_by_month_comes_from_the_spreading_of_upkeep(company: Company) -> None:
    """Without it nothing is known of the year; with it every month has hours and capacity."""
    with company.reading() as session, pytest.raises(NotFound):
        hiring(session, company.settings, TODAY)
    level_upkeep(company.engine, company.settings, today=TODAY, weeks=8)
    with company.reading() as session:
        months = hiring(session, company.settings, TODAY)

    assert sum(one.weeks for one in months) == 8
    assert all(0 < one.work_h < one.most_h for one in months)
    assert len(month_list(months).rows) == len(months)


def test_a_technician_without_room_is_held_to_the_shift_less_its_slack(company: Company) -> None:
    """Service and ways fill Alma's 90 min and Ben's 60; 12 % of them are to stay free."""
    shifts = "id,name,mon,tue,wed,thu,fri,break_min,break_from,break_to\n"
    shifts += "T1,Invented Alma,08:00-09:30,,,,,,,\nT2,Invented Ben,08:00-09:00,,,,,,,\n"
    with company.writing() as session:
        import_technicians(session, company.settings, shifts)
    level_upkeep(company.engine, company.settings, today=TODAY, weeks=8)
    with company.reading() as session:
        months = hiring(session, company.settings, TODAY)

    assert [one.most_h for one in months] == [pytest.approx(0.88 * 2.5)] * len(months)
    assert all(one.fullest > 1 and one.technicians_short > 0 for one in months)


def test_leave_and_people_entered_since_upkeep_was_spread_count(company: Company) -> None:
    """Alma, who has four days of 8 h a week, is off on Thursday of week 49; Cleo comes for 10 h.

    Ben has five days of 8.5 h. The load is as it was spread; 12 % of the shifts are to stay free.
    """
    level_upkeep(company.engine, company.settings, today=TODAY, weeks=2)
    with company.reading() as session:
        before = hiring(session, company.settings, TODAY)
    cleo = "id,name,start_lat,start_lon,mon,break_min,break_from,break_to,days_off\n"
    cleo += "T1,Invented Alma,0,0.0005,07:00-15:30,30,11:00,13:00,2026-12-03\n"
    cleo += "T3,Invented Cleo,0,0.0005,07:00-17:00,,,,\n"
    with company.writing() as session:
        import_technicians(session, company.settings, cleo)
        (month,) = hiring(session, company.settings, TODAY)
    assert month.work_h == before[0].work_h
    assert month.most_h == pytest.approx(0.88 * (42.5 + 10 + (24 + 32) / 2))


def test_weeks_that_are_over_are_not_the_coming_year(company: Company) -> None:
    """Whoever looks on 4 January decides on weeks to come, and growth begins from there."""
    level_upkeep(company.engine, company.settings, today=TODAY, weeks=8)
    later = date(2027, 1, 4)
    with company.reading() as session:
        months = hiring(session, company.settings, later, 10)
        assert months == hiring(session, company.settings, TODAY, 0)[-1:]
        with pytest.raises(NotFound, match="not known yet"):
            hiring(session, company.settings, date(2027, 3, 1))
