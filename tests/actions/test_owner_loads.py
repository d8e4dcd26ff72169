from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from dispatch.actions.owner_loads import (
    account_list,
    accounts,
    figures_list,
    week_figures,
    week_list,
)
from dispatch.actions.read_plan import week_plan
from dispatch.actions.take_in import take_in_record
from dispatch.store.book import read_sites, write_sites
from tests.records.samples import content
from tests.town import WEEK, Company, end_of


def test_the_weeks_add_up_to_what_was_planned(planned: Company) -> None:
    """Service apart from upkeep: 30 min at S1, 45 at S2, twice 20 at S3 by the table of sites."""
    with planned.reading() as session:
        (week,) = week_figures(session, planned.settings, WEEK)
        plan = week_plan(session, WEEK)

    assert week.service_s == (30 + 45 + 20 + 20) * 60
    assert week.service_s + week.upkeep_s == plan.service_s
    assert week.drive_s == plan.drive_s
    assert (week.stops, week.overtime_s) == (4, 0)
    assert sum(one.over_s for one in week.technicians) == pytest.approx(0, abs=2)
    drive_km = sum(route.drive_m for route in plan.routes) / 1000
    assert week.cost == pytest.approx(30 * week.work_s / 3600 + 0.43 * drive_km)
    assert len(week_list([week]).rows) == 1
    assert len(figures_list([week]).rows) == 2


def test_nobody_is_short_of_a_fair_share_for_a_holiday(planned: Company) -> None:
    """On St Andrew's Day, Monday, Scotland is closed: Alma has Thursday and Friday, 16 h, left.

    Ben has four shifts of 8.5 h without a meal; Alma is off on Tuesday and has none on Wednesday.
    """
    scotland = planned.settings.model_copy(update={"country": "GB", "subdivision": "SCT"})
    with planned.reading() as session:
        (week,) = week_figures(session, scotland, WEEK)
    assert [one.shift_s / 3600 for one in week.technicians] == [16, 34]
    alma, ben = week.technicians
    assert week.slack_s == 50 * 3600 - week.work_s
    assert alma.over_s == round(alma.work_s - week.work_s * 16 / 50)
    assert ben.over_s == round(ben.work_s - week.work_s * 34 / 50)


def record(company: Company, **fields: object) -> None:
    """Take in a record of the planned week, sent on its Friday."""
    friday = company.settings.model_copy(
        update={"fixed_today": end_of(WEEK.monday + timedelta(days=4))}
    )
    with company.writing() as session:
        taken = take_in_record(session, friday, content(**fields))  # type: ignore[arg-type]
    assert str(taken.outcome) == "kept", taken


def test_recorded_stops_count_as_they_were_and_the_others_as_planned(planned: Company) -> None:
    """S1 took 50 min and not 30; T2 did S2, in 45, which T1 had; S3 was once skipped."""
    with planned.reading() as session:
        (before,) = week_figures(session, planned.settings, WEEK)
        plan = week_plan(session, WEEK)
    days = [route.day for route in plan.routes if any(s.site_id == "S3" for s in route.stops)]
    record(planned, number=1, day="2026-11-30", arrived_at="2026-11-30T16:00:00Z",
           left_at="2026-11-30T16:50:00Z")  # fmt: skip
    record(planned, number=2, site_id="S2", technician_id="T2", visit_id="S2/2026-W49/1",
           day="2026-12-03", arrived_at="2026-12-03T16:00:00Z",
           left_at="2026-12-03T16:45:00Z", took_over=True)  # fmt: skip
    record(planned, number=3, site_id="S3", technician_id="T2", day=days[0].isoformat(),
           arrived_at=None, left_at=None, skipped="gate locked")  # fmt: skip
    with planned.reading() as session:
        (week,) = week_figures(session, planned.settings, WEEK)

    stops = {one.technician_id: (one.stops, one.recorded) for one in week.technicians}
    assert stops == {"T1": (1, 1), "T2": (2, 1)}
    assert (before.recorded, week.recorded) == (0, 2)
    upkeep_and_service = [one.service_s + one.upkeep_s for one in week.technicians]
    assert upkeep_and_service == [50 * 60, (45 + 20) * 60]
    assert week.drive_s == before.drive_s
    assert before.work_s - week.work_s == (
        before.service_s + before.upkeep_s - sum(upkeep_and_service)
    )


def test_weeks_after_the_one_asked_for_are_left_out(planned: Company) -> None:
    """The page steps through the past."""
    with planned.reading() as session:
        assert week_figures(session, planned.settings, WEEK.previous) == []
        assert accounts(session, planned.settings, WEEK.previous) == []


def test_upkeep_of_years_makes_no_account_of_a_month(planned: Company) -> None:
    """The sand of S2 is changed this week, and then not for five years; a visit takes 45 min."""
    with planned.reading() as session:
        (week,) = week_figures(session, planned.settings, WEEK)
        found = {one.site_id: one for one in accounts(session, planned.settings, WEEK)}

    assert found["S2"].upkeep_s == week.upkeep_s > 60 * 60
    assert 45 * 60 <= found["S2"].visit_s < 50 * 60
    assert (found["S1"].upkeep_s, found["S3"].upkeep_s) == (0, 0)


def test_an_account_that_takes_more_than_it_pays_comes_first(planned: Company) -> None:
    """S3 is served twice a week, 8.67 times a month, for 20 a month; S1 pays 500.

    A visit of 20 min at 30 an hour is 10, so S3 costs more than 86.
    """
    with planned.writing() as session:
        prices = {"S1": 500.0, "S3": 20.0}
        write_sites(
            session,
            [
                replace(site, plan=replace(site.plan, monthly_price=prices.get(site.id)))
                for site in read_sites(session)
            ],
        )
    with planned.reading() as session:
        found = accounts(session, planned.settings, WEEK)

    assert [one.site_id for one in found] == ["S3", "S1", "S2"]
    worst = found[0]
    assert worst.visits_a_month == pytest.approx(8.667, abs=0.001)
    assert worst.visit_s >= 20 * 60
    assert worst.cost_a_month == pytest.approx(86.67, rel=0.15)
    assert worst.margin is not None
    assert worst.margin < -60
    assert found[2].margin is None
    assert account_list(found).rows[0][0] == "S3"
