"""What a few invented customers have agreed besides, and the one-off work of the coming week."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from sample_region.agreements import one_off_rows
from sample_region.company import hold_rows, site_rows
from sample_region.crew import CREW
from sample_region.town import Town
from tests.sample_region.conftest import AS_OF
from tests.sample_region.test_company import MONDAY, Tables


def test_a_few_customers_have_agreed_more_and_nearly_all_have_not(tables: Tables) -> None:
    """The numbers that the README states."""
    sites = tables["sites"]
    assert sum(row["rhythm"] == "three-times-a-week" for row in sites) == 1
    assert sum(";" in row["windows"] for row in sites) == 4
    assert sum(bool(row["seasons"]) for row in sites) == 3
    assert sorted(row["priority"] for row in sites if row["priority"]) == ["can-wait", "high"]
    (unwilling,) = [row for row in sites if row["unwanted_technicians"]]
    assert unwilling["unwanted_technicians"] != unwilling["usual_technician"]


def test_every_visit_takes_chemicals_that_a_truck_may_carry(tables: Tables) -> None:
    """Eleven pools a day stay below 200 kg gross (49 CFR 173.6(d)), and a small rack below 60."""
    masses = [float(row["chemicals_kg"]) for row in tables["sites"]]
    assert min(masses) > 4.5
    assert max(masses) < 11.5
    limits = {row["id"]: row["chemicals_most_kg"] for row in tables["technicians"]}
    assert [limit for limit in limits.values() if limit] == ["60"]


def test_three_visits_a_week_fall_on_days_that_the_technician_works(tables: Tables) -> None:
    """A standing route on a free day could never be kept."""
    (row,) = [row for row in tables["sites"] if row["rhythm"] == "three-times-a-week"]
    technician = next(one for one in CREW if one.id == row["usual_technician"])
    assert row["usual_weekday"] == "Mon;Wed;Fri"
    assert {0, 2, 4} <= set(technician.shifts)


@pytest.mark.parametrize("later", range(7))
def test_the_work_lies_in_the_coming_week_whatever_day_it_is(town: Town, later: int) -> None:
    """The demo must show a green pool, follow-ups and a job for two on every day it is run."""
    as_of = AS_OF + timedelta(days=later)
    sites = site_rows(town, as_of, seed=7)
    holds = hold_rows(sites, as_of)
    works = one_off_rows(sites, holds, as_of)
    assert [row["kind"] for row in works] == ["green-pool", "follow-up", "follow-up", "one-off"]
    assert [row["persons"] for row in works] == ["", "", "", "2"]
    monday = as_of + timedelta(days=7 - as_of.weekday())
    assert monday >= MONDAY
    held = {row["site_id"] for row in holds}
    for row in works:
        first, last = (date.fromisoformat(row[name]) for name in ("first_day", "last_day"))
        assert monday <= first <= last
        assert row["site_id"] not in held
    assert any("2" in one.persons for one in CREW)
