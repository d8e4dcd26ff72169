"""A truck that may not carry the day's chemicals at once, and one that must bring some."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.one_off_work import import_one_offs
from dispatch.actions.plan_week import plan_week
from tests.signed_in import signed_in_client
from tests.town import MONDAY, TODAY, TUESDAY, WEEK, build_town, open_company

# Two pools of 15 kg on one Monday, and a truck that may have 20 kg aboard: between the two it
# stands at the shop for a quarter of an hour, after the meal, which must begin by 7:35.
SITES = """\
id,name,lat,lon,rhythm,service_min,allowed_weekdays,windows,chemicals_kg
S1,Invented One,0,0.001,weekly,30,Mon,07:00-07:01,15
S2,Invented Two,0,0.002,weekly,45,Mon,,15
"""
TECHNICIANS = """\
id,name,start_lat,start_lon,mon,tue,break_min,break_from,break_to,chemicals_most_kg,supply_min,\
supply_lat,supply_lon
T1,Invented Alma,0,0.0005,07:00-15:00,07:00-12:00,30,07:30,07:35,20,15,-0.0009,0.005
"""
# On Tuesday a green pool is begun, for which the office has put down 18 kg.
ONE_OFFS = """\
id,site_id,title,kind,first_day,last_day,minutes,chemicals_kg
J1,S2,Bring the pool back,green-pool,2026-12-01,2026-12-01,60,18
"""


@pytest.fixture(scope="module")
def supplied(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The service of the company with one truck, its week planned."""
    folder = tmp_path_factory.mktemp("supplied")
    company = open_company(folder)
    build_town(company, folder)
    with company.writing() as session:
        import_technicians(session, company.settings, TECHNICIANS)
        import_sites(session, company.settings, SITES)
        import_one_offs(session, company.settings, ONE_OFFS)
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=50)
    with signed_in_client(company.settings) as client:
        yield client
    company.engine.dispose()


def route_of(client: TestClient) -> dict[str, Any]:
    """The route of Monday."""
    routes = client.get(f"/api/weeks/{WEEK}/plan").json()["routes"]
    (route,) = [one for one in routes if one["day"] == str(MONDAY)]
    assert route["supply_after"] == 1
    return dict(route)


def test_the_week_shows_the_supply_stop_between_its_stops(supplied: TestClient) -> None:
    """Without it the times of the table leave a gap, and its drives do not add up."""
    route = route_of(supplied)
    page = supplied.get(f"/week/{WEEK}").text

    table = page[page.index('<table class="stops">') :]
    table = table[: table.index("</table>")]
    assert table.index("Invented") < table.index("Supply stop, 15 min") < table.rindex("Invented")
    told = [int(one) for one in re.findall(r'<td class="number"[^>]*>(\d+) min</td>', table)]
    drives = [route["supply_drive_s"], route["return_drive_s"]]
    drives += [stop["drive_s"] for stop in route["stops"]]
    assert sorted(told) == sorted([30, 45, *(round(one / 60) for one in drives)])


@pytest.mark.parametrize("address", [f"/week/{WEEK}", f"/day/T1/{MONDAY}"])
def test_the_meal_before_the_supply_stop_stands_before_it(
    supplied: TestClient, address: str
) -> None:
    """Both lie between the two stops; who reads downwards drives to the shop first otherwise."""
    page = supplied.get(address).text

    rows = page[page.index("Invented One") : page.rindex("Invented Two")]
    assert rows.index("Break") < rows.index("Supply stop")


def test_the_quarter_of_an_hour_at_the_shop_is_nobodys_slack(supplied: TestClient) -> None:
    """8 h of shift less 75 min at the pools, a meal, 15 min at the shop and the driving."""
    route = route_of(supplied)
    (load,) = [
        one
        for one in supplied.get(f"/api/weeks/{WEEK}/workloads").json()
        if one["day"] == str(MONDAY)
    ]

    assert load["other_s"] == 900
    assert load["slack_s"] == 8 * 3600 - (75 + 30 + 15) * 60 - route["drive_s"]
    page = supplied.get(f"/loads/{WEEK}").text
    weeks = supplied.get(f"/loads/weeks/{WEEK}").text
    everyone = re.findall(r'<td class="number">([^<]*)</td>', page[page.index("<tfoot>") :])
    (waiting, slack, shift) = everyone[-3:]
    assert (waiting, shift) == ("15 min", "13 h 00")
    assert f'<td class="number">{slack}</td>' in weeks


def test_a_list_for_the_whole_day_says_that_the_truck_is_filled_again(
    supplied: TestClient,
) -> None:
    """Whoever loads all of it in the morning has more aboard than is allowed."""
    page = supplied.get(f"/load/T1/{MONDAY}").text

    assert "the truck is filled again at the supply stop" in page
    assert "filled again" not in supplied.get(f"/load/T1/{TUESDAY}").text


def test_a_limit_of_the_truck_does_not_pass_for_that_of_the_law(supplied: TestClient) -> None:
    """The company allows 20 kg on this truck, 49 CFR 173.6 ten times as much."""
    page = supplied.get(f"/load/T1/{MONDAY}").text

    assert "<dt>allowed on this truck</dt><dd>20 kg</dd>" in page
    assert "allowed, 49 CFR 173.6" not in page


def test_what_a_green_pool_takes_is_not_missing_on_the_list(supplied: TestClient) -> None:
    """Nobody knows which products, but 18 kg of them; a list without them sends an empty truck."""
    page = supplied.get(f"/load/T1/{TUESDAY}").text

    assert "Bring the pool back (Invented Two)" in page
    assert "18 kg of chemicals" in page
