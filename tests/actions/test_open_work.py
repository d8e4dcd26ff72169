"""What records ask for is planned, and what they tell of is done."""

from __future__ import annotations

from datetime import date, timedelta

from dispatch.actions.due import visits_due
from dispatch.actions.one_off_work import add_one_off
from dispatch.actions.open_work import all_work, work_of
from dispatch.actions.records import open_follow_ups, settle
from dispatch.actions.take_in import take_in_record
from dispatch.one_offs import OneOff
from dispatch.records.follow_ups import FollowUp, FollowUpKind
from dispatch.service_plan import Priority, VisitKind
from dispatch.store.book import read_sites
from tests.records.samples import DAY, content, full_content
from tests.town import TODAY, WEEK, Company

JOB = OneOff("J1", "S2", "Mend", VisitKind.ONE_OFF, DAY, DAY + timedelta(days=9), (30, 30))


def asked(kind: FollowUpKind, *, urgent: bool = False) -> FollowUp:
    return FollowUp(
        "F", "R", "S2", kind, date(2026, 12, 3), urgent, "Because.", 20, date(2026, 11, 30)
    )


def test_water_is_looked_at_on_its_day_and_first_of_all() -> None:
    """Whoever swims in it cannot wait; a part may come from the next day on."""
    water = work_of(asked(FollowUpKind.UNSAFE_WATER))
    assert (water.first_day, water.last_day) == (date(2026, 12, 3), date(2026, 12, 3))
    assert (water.priority, water.minutes, water.note) == (Priority.HIGH, (20,), "Because.")
    part = work_of(asked(FollowUpKind.PART))
    assert (part.first_day, part.priority) == (date(2026, 12, 1), Priority.NORMAL)


def test_every_kind_of_follow_up_has_words() -> None:
    """A kind without a title would stop the planning of a week."""
    assert all(work_of(asked(kind)).title for kind in FollowUpKind)


def test_what_a_record_asks_for_is_due_in_the_week(company: Company) -> None:
    """Nobody has to type it in again; once it is settled, it is owed no more."""
    with company.writing() as session:
        take_in_record(session, company.settings, full_content())
        follow_ups = open_follow_ups(session)
        wanted = {f"one-off:{one.id}" for one in follow_ups}
        found = visits_due(session, company.settings, WEEK.previous, TODAY)
        owed = {one.demand_id for one in found.due} | {one.demand_id for one in found.not_due}
        assert wanted
        assert wanted <= owed
        for one in follow_ups:
            settle(session, company.settings, one.id, by="Office", outcome="done")
        after = visits_due(session, company.settings, WEEK.previous, TODAY)
        assert not wanted & {one.demand_id for one in after.due}
        assert {work.id for work in all_work(session)} == set()
        assert len(all_work(session, settled=True)) == len(follow_ups)


def test_a_record_of_a_job_ticks_it_off_and_leaves_the_route_alone(company: Company) -> None:
    """The site's own visit is still owed: a look at the gate is no service of the pool."""
    with company.writing() as session:
        add_one_off(session, JOB)
        before = {site.id: site.plan.last_visit_on for site in read_sites(session)}
        record = content(visit_id="one-off:J1/2026-W49/1", site_id="S2")
        take_in_record(session, company.settings, record)
        (work,) = [one for one in all_work(session) if one.id == "J1"]
        assert (work.visited_on, work.minutes_left) == ((DAY,), (30,))
        after = {site.id: site.plan.last_visit_on for site in read_sites(session)}
        assert after == before


def test_a_skipped_visit_of_a_job_was_not_made(company: Company) -> None:
    """The gate was locked: the job is owed still."""
    with company.writing() as session:
        add_one_off(session, JOB)
        record = content(visit_id="one-off:J1/2026-W49/1", site_id="S2", skipped="locked gate")
        take_in_record(session, company.settings, record)
        (work,) = [one for one in all_work(session) if one.id == "J1"]
        assert work.visited_on == ()
