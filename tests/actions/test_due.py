from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from dispatch.actions.due import (
    closed_days,
    holiday_names,
    upkeep_due,
    upkeep_unknown,
    visits_due,
    working_weekdays,
)
from dispatch.actions.standing_changes import Wish, decide
from dispatch.actions.week_inputs import read_inputs
from dispatch.clock import IsoWeek
from dispatch.closed_days import HolidayRule
from dispatch.rhythms import Rhythm
from dispatch.standing.values import Habit
from dispatch.store.book import read_sites, write_sites
from dispatch.technicians import Shift
from tests.store.values import BARE_TECHNICIAN
from tests.town import TODAY, WEEK, Company, open_company

THANKSGIVING_WEEK = IsoWeek(2026, 48)
THANKSGIVING = date(2026, 11, 26)  # the fourth Thursday of November, 5 U.S.C. 6103


def test_visits_follow_rhythms_and_holds(company: Company) -> None:
    """S1 is held in week 51 only; S3 is owed two visits in each."""
    with company.reading() as session:
        due = visits_due(session, company.settings, WEEK, TODAY)
        held = visits_due(session, company.settings, IsoWeek(2026, 51), TODAY)
    assert {one.site_id: one.count for one in due.due} == {"S1": 1, "S2": 1, "S3": 2}
    assert {one.site_id for one in held.due} == {"S2", "S3"}
    assert [one.site_id for one in held.not_due] == ["S1"]


def test_a_decided_change_of_weeks_moves_what_is_due(company: Company) -> None:
    """S1 comes in even weeks until its turns go to odd ones from week 49 on, as weeks are planned.

    A list of the old turns would name S1 in week 50, and the plan of week 49 would have it.
    """
    even, odd = date(2026, 11, 23), date(2026, 11, 30)
    with company.writing() as session:
        site = read_sites(session)[0]
        fortnightly = replace(site.plan, rhythm=Rhythm.EVERY_2_WEEKS, anchor_on=even)
        write_sites(session, [replace(site, plan=fortnightly)])
        decide(
            session,
            [Wish("S1", Habit("T1", frozenset({0}), odd), "Nearer.")],
            from_on=odd,
            who="Owner",
            today=TODAY,
        )
    listed, planned_from = [], []
    with company.reading() as session:
        for week in (WEEK, WEEK.next, WEEK.next.next):
            found = visits_due(session, company.settings, week, TODAY).due
            listed.append({one.site_id for one in found})
            inputs = read_inputs(session, company.settings, week, TODAY)
            planned_from.append({one.site_id for one in inputs.due})
    assert ["S1" in week for week in listed] == [True, False, False]  # held in week 51
    assert listed == planned_from


def test_upkeep_follows_the_dates_of_equipment(company: Company) -> None:
    """Sand of June 2021 is due; the salt cell of S3 has no date to count from."""
    with company.reading() as session:
        assert {one.site_id for one in upkeep_due(session, WEEK)} == {"S2"}
        assert {one.site_id for one in upkeep_unknown(session)} == {"S3"}


def test_holidays_are_those_of_the_country_less_those_worked(tmp_path: Path) -> None:
    """Which holidays a company keeps is its own choice."""
    home = open_company(tmp_path / "home", country="US").settings
    assert holiday_names(home, THANKSGIVING_WEEK)[THANKSGIVING].startswith("Thanksgiving")
    busy = open_company(tmp_path / "b", country="US", holidays_worked=("Thanksgiving Day",))
    assert THANKSGIVING not in closed_days(busy.settings, THANKSGIVING_WEEK)
    nowhere = open_company(tmp_path / "nowhere", country=None).settings
    assert closed_days(nowhere, THANKSGIVING_WEEK) == frozenset()


def test_the_companys_rule_decides_what_becomes_of_a_holiday(company: Company) -> None:
    """S1 is due on any weekday; once it has a usual Thursday, the rule says where that goes."""
    with company.writing() as session:
        site = read_sites(session)[0]
        thursdays = replace(site.plan, usual_weekdays=frozenset({3}), last_visit_on=None)
        write_sites(session, [replace(site, plan=thursdays)])
        found = {}
        for rule in HolidayRule:
            settings = company.settings.model_copy(update={"country": "US", "holiday_rule": rule})
            due = visits_due(session, settings, THANKSGIVING_WEEK, TODAY).due
            found[rule] = [one.patterns for one in due if one.site_id == "S1"]
    wednesday, friday = THANKSGIVING - timedelta(days=1), THANKSGIVING + timedelta(days=1)
    assert found == {
        HolidayRule.NEAREST: [((wednesday,), (friday,))],
        HolidayRule.DAY_BEFORE: [((wednesday,),)],
        HolidayRule.DAY_AFTER: [((friday,),)],
        HolidayRule.SKIP: [],
    }


def test_days_are_worked_on_which_anybody_has_a_shift() -> None:
    """Without technicians, Monday to Friday (common practice)."""
    saturdays = replace(BARE_TECHNICIAN, shifts=(None,) * 5 + (Shift(0, 3600), None))
    assert working_weekdays([BARE_TECHNICIAN, saturdays]) == {0, 5}
    assert working_weekdays([]) == {0, 1, 2, 3, 4}
