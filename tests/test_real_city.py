"""The whole chain on a real city, with the same actions as the demo.

The map is the extract of central Helsinki that the package `pyrosm` carries: © OpenStreetMap
contributors, Open Database License 1.0. Addresses are taken from it; the customers are invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pyrosm
import pytest

from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.maps import build_map, drive_matrix_for, road_map
from dispatch.actions.plan_week import plan_week
from dispatch.actions.read_plan import day_sheet, week_plan, workloads
from dispatch.actions.route_lines import route_lines
from dispatch.places import Place, straight_line_m
from dispatch.planning.plan import WeekPlan
from tests.town import TODAY, WEEK, Company, open_company

HELSINKI = Path(pyrosm.__file__).parent / "data" / "Helsinki.osm.pbf"
HEADER = (
    "id,name,address,rhythm,service_min,usual_weekday,filter,media_changed_on,"
    "media_mass_kg,cell_installed_on,cell_inspected_on,sanitizer,last_visit_on"
)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri")
SITES = 40


def customers(city: Company) -> str:
    """A book of forty invented pools at real addresses, given in words only."""
    words: list[str] = []
    for address in road_map(city.settings).addresses:
        text = f"{address.street} {address.number}"
        if text not in words and "," not in text:
            words.append(text)
    chosen = words[:: len(words) // SITES][:SITES]
    rows = [HEADER]
    for n, text in enumerate(chosen):
        rhythm = "every-2-weeks" if n % 4 == 0 else "weekly"
        equipment = "sand,2021-10-20,136,2024-05-01,2026-08-20,salt" if n % 10 == 1 else ",,,,,"
        last = f"2026-11-{16 + n % 5}"  # on its weekday, two weeks before the week planned
        rows.append(f"S{n:02},Invented {n},{text},{rhythm},30,{WEEKDAYS[n % 5]},{equipment},{last}")
    return "\n".join(rows)


TECHNICIANS = """\
id,name,start_lat,start_lon,mon,tue,wed,thu,fri,break_min,break_from,break_to,skills
T1,Invented Alma,60.1699,24.9384,07:00-15:00,07:00-15:00,07:00-15:00,07:00-15:00,07:00-15:00,\
30,11:00,13:00,media
T2,Invented Ben,60.1650,24.9450,08:00-14:00,08:00-14:00,08:00-14:00,08:00-14:00,08:00-14:00,,,,
"""


@pytest.fixture(scope="module")
def city(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Company]:
    """A company in Helsinki with its map and its book."""
    company = open_company(tmp_path_factory.mktemp("city"), time_zone="Europe/Helsinki")
    build_map(company.settings, HELSINKI)
    with company.writing() as session:
        import_technicians(session, company.settings, TECHNICIANS)
        import_sites(session, company.settings, customers(company))
    yield company
    company.engine.dispose()


@pytest.fixture(scope="module")
def plan(city: Company) -> WeekPlan:
    """The planned week; the judge of `planning.check` has passed it."""
    return plan_week(city.engine, city.settings, WEEK, today=TODAY, iterations=4000)


def test_every_customer_of_a_real_city_is_visited_once_a_week(
    city: Company, plan: WeekPlan
) -> None:
    """Nothing due is lost between addresses in words and stops on streets."""
    stops = [stop.site_id for route in plan.routes for stop in route.stops]
    assert plan.unplaced == ()
    assert len(stops) == len(set(stops)) == SITES


def test_upkeep_rides_along_with_the_one_who_can_do_it(plan: WeekPlan) -> None:
    """The sand is five years old in October 2026: its change is on T1's truck, who has 'media'."""
    carriers = {
        route.technician_id
        for route in plan.routes
        for stop in route.stops
        for one in stop.upkeep_ids
        if "/sand-change/" in one
    }
    assert carriers == {"T1"}


def test_the_stored_plan_is_the_plan_that_was_made(city: Company, plan: WeekPlan) -> None:
    """What the pages show tomorrow is what the search found today."""
    with city.reading() as session:
        assert week_plan(session, WEEK) == plan


def test_no_drive_is_shorter_than_the_crow_flies(city: Company, plan: WeekPlan) -> None:
    """Along streets it is no shorter, less 100 m at each end from the door to its street."""
    with city.reading() as session:
        matrix = drive_matrix_for(session, city.settings).matrix
        sites = {f"site:{stop.site_id}" for route in plan.routes for stop in route.stops}
        places = road_places(city)
    for a in sorted(sites):
        for b in sorted(sites):
            along = matrix.drive_m[matrix.ids.index(a), matrix.ids.index(b)]
            assert along >= straight_line_m(places[a], places[b]) - 200


def road_places(city: Company) -> dict[str, Place]:
    from dispatch.actions.book import sites

    with city.reading() as session:
        return {f"site:{site.id}": site.place for site in sites(session)}


def test_the_lines_on_the_map_lead_from_stop_to_stop(city: Company, plan: WeekPlan) -> None:
    """One line for each leg, the way home included; each begins where the last one ended."""
    with city.reading() as session:
        lines = route_lines(session, city.settings, WEEK)["features"]
    legs = sum(len(route.stops) + 1 for route in plan.routes)
    drawn = [one for one in lines if one["geometry"]["type"] == "LineString"]
    assert len(drawn) == legs


def test_the_hours_of_the_owner_are_those_of_the_routes(city: Company, plan: WeekPlan) -> None:
    """Sums over the workloads equal sums over the routes."""
    with city.reading() as session:
        loads = workloads(session, city.settings, WEEK)
    assert sum(one.drive_s for one in loads) == plan.drive_s
    assert sum(one.service_s for one in loads) == plan.service_s


def test_a_day_sheet_follows_the_route(city: Company, plan: WeekPlan) -> None:
    """The technician reads the same stops in the same order."""
    route = plan.routes[0]
    with city.reading() as session:
        sheet = day_sheet(session, city.settings, route.technician_id, route.day)
    assert [one.site.id for one in sheet.stops] == [stop.site_id for stop in route.stops]
