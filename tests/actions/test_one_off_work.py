"""One-off work: from a table or one by one, into the week and out of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dispatch.actions.due import visits_due
from dispatch.actions.one_off_work import (
    add_one_off,
    delete_one_off,
    finish_one_off,
    import_one_offs,
    next_one_off_id,
    one_off,
    one_offs,
    visit_one_off,
)
from dispatch.actions.open_work import all_work
from dispatch.actions.plan_week import plan_week
from dispatch.actions.take_in import take_in_record
from dispatch.actions.week_inputs import is_outdated
from dispatch.errors import ImportRejected, InvalidValue, NotFound
from dispatch.one_offs import OneOff
from dispatch.service_plan import VisitKind
from dispatch.store.one_off_stops import read_one_off_days
from tests.records.samples import content
from tests.town import TODAY, WEEK, Company, end_of

CSV = """\
id,site_id,title,kind,first_day,last_day,minutes
J1,S1,Bring the green pool back,green-pool,2026-11-30,2026-12-04,60;20;20
J2,S3,Look again,follow-up,2026-11-30,2026-12-11,15
"""
JOB = OneOff("J3", "S2", "Mend", VisitKind.ONE_OFF, date(2026, 11, 30), date(2026, 12, 11), (30,))


def test_a_table_is_taken_in_whole_or_not_at_all(company: Company) -> None:
    """As every table is; an unknown site is a bad row."""
    with company.writing() as session:
        assert import_one_offs(session, company.settings, CSV) == 2
    with company.writing() as session, pytest.raises(ImportRejected):
        import_one_offs(session, company.settings, CSV.replace("S3", "S9"))
    with company.reading() as session:
        assert [work.id for work in one_offs(session)] == ["J1", "J2"]


def test_a_table_taken_in_again_reopens_nothing(company: Company) -> None:
    """The list grows from week to week; nobody is sent to a job that is finished."""
    with company.writing() as session:
        import_one_offs(session, company.settings, CSV)
        visit_one_off(session, "J1", TODAY)
        finish_one_off(session, "J2", TODAY)
        before = one_offs(session)
        import_one_offs(session, company.settings, CSV.replace("Look again", "Look closer"))
        after = one_offs(session)
    assert after == [before[0], replace(before[1], title="Look closer")]


def test_work_is_added_visited_finished_and_deleted(company: Company) -> None:
    """One after the other, as the office does it."""
    with company.writing() as session:
        add_one_off(session, JOB)
        assert visit_one_off(session, "J3", TODAY).done_on == TODAY
        assert finish_one_off(session, "J3", date(2026, 11, 24)).done_on == date(2026, 11, 24)
        delete_one_off(session, "J3")
        with pytest.raises(NotFound, match="no one-off work 'J3'"):
            one_off(session, "J3")


def test_new_work_inherits_no_visit_of_deleted_work(company: Company) -> None:
    """J1 was planned and done and is deleted; another J1 would be done before anybody came."""
    with company.writing() as session:
        add_one_off(session, replace(JOB, id=next_one_off_id(session)))
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    with company.writing() as session:
        delete_one_off(session, "J1")
        assert next_one_off_id(session) != "J1"
        add_one_off(session, replace(JOB, id="J2"))
        delete_one_off(session, "J2")
        assert next_one_off_id(session) == "J2"  # nothing speaks of this one
        sent = content(visit_id="one-off:J2/2026-W48/1", day="2026-11-25")
        take_in_record(session, company.settings, sent)
        assert next_one_off_id(session) == "J3"


def test_a_taken_id_an_unknown_site_or_technician_is_refused(company: Company) -> None:
    """Adding must never replace, and never point at nothing."""
    with company.writing() as session:
        add_one_off(session, JOB)
        assert next_one_off_id(session) == "J2"
        with pytest.raises(InvalidValue, match="'J3' already"):
            add_one_off(session, JOB)
        with pytest.raises(NotFound, match="no site 'S9'"):
            add_one_off(session, replace(JOB, id="J4", site_id="S9"))
        with pytest.raises(NotFound, match="no technician 'T9'"):
            add_one_off(session, replace(JOB, id="J4", technician_id="T9"))


def test_a_planned_job_stands_in_its_week_and_is_not_owed_in_the_next(company: Company) -> None:
    """The span of J2 holds two weeks; the plan of the first has it, with its own visit id."""
    with company.writing() as session:
        import_one_offs(session, company.settings, CSV)
    plan = plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    visits = {stop.visit_id for route in plan.routes for stop in route.stops}
    assert {"one-off:J1/2026-W49/1", "one-off:J1/2026-W49/3", "one-off:J2/2026-W49/1"} <= visits
    assert not any(visit.startswith("S1/") for visit in visits)  # the burst takes its place
    with company.reading() as session:
        due = visits_due(session, company.settings, WEEK.next, TODAY).due
        assert {one.demand_id for one in due} == {"S1", "S2", "S3"}


def test_planning_the_next_week_leaves_the_plan_of_this_one_as_it_is(company: Company) -> None:
    """The rest of a burst is planned a week later: the first part is owed as before."""
    long = CSV.replace("2026-12-04,60;20;20", "2026-12-11,60;30;30;20;20;20;20")
    with company.writing() as session:
        import_one_offs(session, company.settings, long)
    for week in (WEEK, WEEK.next):
        plan_week(company.engine, company.settings, week, today=TODAY, iterations=200)
    with company.reading() as session:
        assert read_one_off_days(session, WEEK) != {}
        assert not is_outdated(session, company.settings, WEEK)


def test_work_done_as_planned_does_not_outdate_its_week(company: Company) -> None:
    """The first visit of a burst is recorded; only what the office finishes is news."""
    with company.writing() as session:
        import_one_offs(session, company.settings, CSV)
    plan = plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    first = "one-off:J1/2026-W49/1"
    (route,) = [one for one in plan.routes if first in {stop.visit_id for stop in one.stops}]
    then = company.settings.model_copy(update={"fixed_today": end_of(route.day)})
    visit = {
        "visit_id": first,
        "technician_id": route.technician_id,
        "day": str(route.day),
        "arrived_at": f"{route.day}T16:00:00Z",
        "left_at": f"{route.day}T17:00:00Z",
    }
    with company.writing() as session:
        take_in_record(session, then, content(1, **visit))
        assert all_work(session)[0].visited_on == (route.day,)
        assert not is_outdated(session, then, WEEK)
        finish_one_off(session, "J2", route.day)
        assert is_outdated(session, then, WEEK)


def test_new_work_puts_a_plan_behind_the_book(company: Company) -> None:
    """The dispatcher is told to plan again."""
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    with company.writing() as session:
        assert not is_outdated(session, company.settings, WEEK)
        add_one_off(session, JOB)
        assert is_outdated(session, company.settings, WEEK)
