from __future__ import annotations

from datetime import date
from pathlib import Path

from dispatch.actions.due import closed_days, holiday_names, upkeep_due, upkeep_unknown, visits_due
from dispatch.clock import IsoWeek
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
