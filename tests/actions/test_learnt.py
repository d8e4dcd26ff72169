"""What is learnt from records, and what planning takes of it."""

from __future__ import annotations

from datetime import date, timedelta

from dispatch.actions.learnt import (
    apply_drives,
    learn_drives,
    learnt_minutes,
    planned_and_actual,
    sites_to_plan_with,
    visit_minutes,
)
from dispatch.actions.learnt_lists import drive_list, minutes_list, pace_list, upkeep_minutes_list
from dispatch.actions.plan_week import plan_week
from dispatch.actions.read_plan import week_plan
from dispatch.actions.take_in import take_in_record, take_in_records
from dispatch.drive.factors import read_factors
from dispatch.store.book import read_sites
from tests.records.samples import content
from tests.town import TODAY, WEEK, Company, end_of


def weeks_of_visits(minutes: int, **fields: object) -> list[dict[str, object]]:
    """Twelve Mondays at S1 of so many minutes."""
    first = date(2026, 9, 7)
    return [
        content(
            n,
            day=(first + timedelta(weeks=n)).isoformat(),
            arrived_at=f"{first + timedelta(weeks=n)}T16:00:00Z",
            left_at=f"{first + timedelta(weeks=n)}T16:{minutes:02d}:00Z",
            **fields,
        )
        for n in range(12)
    ]


def test_planning_keeps_the_agreed_minutes_until_it_is_told(company: Company) -> None:
    """Off by default: customers were promised minutes; a company looks before it switches."""
    with company.writing() as session:
        take_in_records(session, company.settings, weeks_of_visits(45))
        agreed = sites_to_plan_with(session, company.settings, read_sites(session))
        told = company.settings.model_copy(update={"use_learnt_minutes": True})
        learnt = sites_to_plan_with(session, told, read_sites(session))
    assert [site.plan.service_min for site in agreed] == [30, 45, 20]
    assert 42 <= learnt[0].plan.service_min <= 45
    assert learnt[1].plan.service_min == 45  # nobody has been there


def test_what_was_learnt_follows_each_new_record(company: Company) -> None:
    """It is kept between pages, and must not outlive the records it came from."""
    with company.writing() as session:
        take_in_records(session, company.settings, weeks_of_visits(45))
        before = learnt_minutes(session, company.settings).sites["S1"]
        assert learnt_minutes(session, company.settings).sites["S1"] is before
        at = {"arrived_at": "2026-11-24T16:00:00Z", "left_at": "2026-11-24T16:44:00Z"}
        take_in_record(session, company.settings, content(50, day="2026-11-24", **at))
        after = learnt_minutes(session, company.settings).sites["S1"]
    assert (before.visits, after.visits) == (12, 13)


def test_a_week_is_planned_with_learnt_minutes(company: Company) -> None:
    """S1 takes 44 minutes and no longer 30 once the company has switched it on."""
    with company.writing() as session:
        take_in_records(session, company.settings, weeks_of_visits(45))
    told = company.settings.model_copy(update={"use_learnt_minutes": True})
    plan_week(company.engine, told, WEEK, today=TODAY, iterations=100)
    with company.reading() as session:
        stops = [stop for route in week_plan(session, WEEK).routes for stop in route.stops]
    (stop,) = [stop for stop in stops if stop.site_id == "S1"]
    assert 42 * 60 <= stop.leave_s - stop.start_s <= 45 * 60


def test_chemicals_come_from_the_last_visits(company: Company) -> None:
    """2 l of hypochlorite weigh 2.33 kg, 2.4 with the jug; S2 is of the same kind of pool."""
    added = [{"product": "liquid-chlorine", "amount": 2, "unit": "l"}]
    with company.writing() as session:
        take_in_records(session, company.settings, weeks_of_visits(30, products=added))
        sites = sites_to_plan_with(session, company.settings, read_sites(session))
    by_id = {site.id: site.plan.chemicals_kg for site in sites}
    assert by_id == {"S1": 2.4, "S2": 0.0, "S3": 0.0}


def test_minutes_planned_stand_beside_actual_ones(planned: Company) -> None:
    """The visit took 40 minutes where the plan had what was agreed."""
    with planned.reading() as session:
        routes = week_plan(session, WEEK).routes
    route = next(one for one in routes if any(stop.site_id == "S1" for stop in one.stops))
    (stop,) = [stop for stop in route.stops if stop.site_id == "S1"]
    settings = planned.settings.model_copy(update={"fixed_today": end_of(route.day)})
    done = content(
        day=route.day.isoformat(),
        technician_id=route.technician_id,
        visit_id=stop.visit_id,
        arrived_at=f"{route.day}T16:00:00Z",
        left_at=f"{route.day}T16:40:00Z",
    )
    with planned.writing() as session:
        take_in_record(session, settings, done)
        (visit,) = visit_minutes(session, settings)
        row = planned_and_actual(session, settings)[0]
    assert (visit.planned_min, visit.actual_min) == (30, 40)
    assert (row.planned_min, row.minutes.actual_min, row.minutes.agreed_min) == (30, 40, 30)
    cells = dict(zip(minutes_list([row]).columns, minutes_list([row]).rows[0], strict=True))
    assert (cells["planned_min"], cells["actual_min"]) == (30, 40)


def test_drives_come_from_gaps_between_stops(company: Company) -> None:
    """Forty gaps of two minutes from S1 to S3; the town is so small that they are mere parking."""
    with company.writing() as session:
        assert learn_drives(session, company.settings).gaps == 0
        records = []
        for n in range(40):
            day = date(2026, 9, 1) + timedelta(days=n)
            for site, start, end in (("S1", "16:00", "16:20"), ("S3", "16:22", "16:40")):
                at = {"arrived_at": f"{day}T{start}:00Z", "left_at": f"{day}T{end}:00Z"}
                number = 2 * n + (site == "S3")
                records.append(content(number, site_id=site, day=day.isoformat(), **at))
        take_in_records(session, company.settings, records)
        drives = learn_drives(session, company.settings)
    assert drives.gaps == 40
    assert not drives.enough
    assert all("too little data" in one.words for one in drives.learnt)
    assert len(drive_list(drives).rows) == len(drives.learnt)
    apply_drives(company.settings, drives)
    assert read_factors(company.settings.factors_file) == drives.factors


def test_lists_of_what_was_learnt_have_a_row_each(company: Company) -> None:
    """Every figure can be exported."""
    upkeep = weeks_of_visits(30)
    changed = content(
        99, site_id="S2", day="2026-11-24", arrived_at="2026-11-24T15:00:00Z",
        left_at="2026-11-24T18:00:00Z", upkeep=[{"kind": "sand-change"}],
    )  # fmt: skip
    with company.writing() as session:
        take_in_records(session, company.settings, [*upkeep, changed])
        found = learnt_minutes(session, company.settings)
    assert pace_list(found).rows[0][0] == "T1"
    ((kind, table_min, learnt_min, visits),) = upkeep_minutes_list(found).rows
    assert (kind, visits) == ("sand-change", 1)
    assert isinstance(table_min, float)
    assert isinstance(learnt_min, float)
    assert table_min - 10 < learnt_min < table_min + 10  # one visit moves a fifth of the way
