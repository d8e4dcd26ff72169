from __future__ import annotations

import pytest

from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.read_plan import day_sheet, planned_weeks, week_plan, workloads
from dispatch.errors import NotFound
from tests.town import SITES_CSV, TUESDAY, WEDNESDAY, WEEK, Company


def test_a_technicians_day_has_the_stops_of_the_route(planned: Company) -> None:
    """Every route of the plan is somebody's sheet."""
    with planned.reading() as session:
        for route in week_plan(session, WEEK).routes:
            sheet = day_sheet(session, planned.settings, route.technician_id, route.day)
            assert sheet.route == route
            assert tuple(stop.stop for stop in sheet.stops) == route.stops


def test_a_sheet_keeps_the_upkeep_it_was_planned_with(planned: Company) -> None:
    """The sand change of S2 must stay on the sheet when its date is corrected afterwards."""
    with planned.writing() as session:
        import_sites(session, planned.settings, SITES_CSV.replace("2021-06-01", "2026-06-01"))
        (route,) = [
            route
            for route in week_plan(session, WEEK).routes
            if any(stop.upkeep_ids for stop in route.stops)
        ]
        sheet = day_sheet(session, planned.settings, route.technician_id, route.day)
    (upkeep,) = [one for stop in sheet.stops for one in stop.upkeep]
    assert upkeep.site_id == "S2"
    assert sheet.load
    assert sheet.load_kg >= 136  # the filling of S2


def test_a_day_off_has_an_empty_sheet(planned: Company) -> None:
    """T1 has 1 December off and no shift on a Wednesday."""
    with planned.reading() as session:
        off = day_sheet(session, planned.settings, "T1", TUESDAY)
        shiftless = day_sheet(session, planned.settings, "T1", WEDNESDAY)
    assert off.why_empty == "Invented Alma has Tuesday, 2026-12-01, off."
    assert shiftless.why_empty == "Invented Alma has no shift on a Wednesday."


def test_an_unknown_technician_or_week_is_not_found(planned: Company) -> None:
    """Each message names what to do."""
    with planned.reading() as session:
        with pytest.raises(NotFound, match="no technician 'T7'"):
            day_sheet(session, planned.settings, "T7", TUESDAY)
        with pytest.raises(NotFound, match="plan the week first") as told:
            day_sheet(session, planned.settings, "T1", WEEK.next.monday)
        assert told.value.command == "dispatch plan 2026-W50"


def test_workloads_add_up_to_the_plan(planned: Company) -> None:
    """Every hour of the plan is somebody's, and idle shifts are shown as idle."""
    with planned.reading() as session:
        plan = week_plan(session, WEEK)
        loads = workloads(session, planned.settings, WEEK)
        assert planned_weeks(session) == [WEEK]
    assert sum(load.drive_s for load in loads) == plan.drive_s
    assert sum(load.service_s for load in loads) == plan.service_s
    assert sum(load.stops for load in loads) == 4
    # T1 works Mon, Thu, Fri (Tue off, no shift on Wed), T2 Mon to Fri, 8.5 h each day.
    assert [load.technician_id for load in loads] == ["T1"] * 3 + ["T2"] * 5
    assert {load.shift_s for load in loads} == {30_600}
    assert [load.day for load in loads if load.technician_id == "T2"] == list(WEEK.days[:5])


def test_a_holiday_is_no_idle_shift(planned: Company) -> None:
    """On St Andrew's Day, Monday, Scotland is closed; work planned there counts."""
    scotland = planned.settings.model_copy(update={"country": "GB", "subdivision": "SCT"})
    with planned.reading() as session:
        loads = workloads(session, scotland, WEEK)
        plan = week_plan(session, WEEK)
    monday = [one for one in loads if one.day == WEEK.monday]
    assert {one.shift_s for one in monday} <= {0}
    assert all(one.stops for one in monday)
    assert sum(one.service_s for one in loads) == plan.service_s


def test_a_route_outside_any_shift_still_counts(planned: Company) -> None:
    """A shift that was taken away after planning must not hide the work that is planned in it."""
    with planned.writing() as session:
        before = sum(load.service_s for load in workloads(session, planned.settings, WEEK))
        text = (
            "id,name,start_lat,start_lon,mon,tue,wed,thu,fri,sat,sun\n"
            "T1,Invented Alma,0,0.0005,,,,,,,07:00-08:00\n"
            "T2,Invented Ben,-0.0009,0.006,,,,,,,07:00-08:00\n"
        )
        import_technicians(session, planned.settings, text)
        after = workloads(session, planned.settings, WEEK)
    assert sum(load.service_s for load in after) == before
    assert {load.shift_s for load in after if load.stops} == {0}
