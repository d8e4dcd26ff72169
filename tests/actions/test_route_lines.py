from __future__ import annotations

import pytest

from dispatch.actions.book import import_sites
from dispatch.actions.read_plan import week_plan
from dispatch.actions.route_lines import route_lines
from dispatch.errors import NotFound
from tests.town import SITES_CSV, WEEK, Company


def test_each_leg_is_a_feature_from_depot_to_depot(planned: Company) -> None:
    """A route of n stops has n + 1 legs, in the order driven."""
    with planned.reading() as session:
        plan = week_plan(session, WEEK)
        lines = route_lines(session, planned.settings, WEEK)
    assert lines["type"] == "FeatureCollection"
    legs = [feature["properties"] for feature in lines["features"]]
    assert len(legs) == sum(len(route.stops) + 1 for route in plan.routes)
    route = plan.routes[0]
    first = legs[: len(route.stops) + 1]
    assert [leg["leg"] for leg in first] == list(range(1, len(first) + 1))
    assert first[0]["from"] == f"start:{route.technician_id}"
    assert [leg["to"] for leg in first[:-1]] == [f"site:{stop.site_id}" for stop in route.stops]
    assert first[-1]["to"] == f"end:{route.technician_id}"
    assert sum(leg["drive_s"] for leg in first) == route.drive_s
    assert sum(leg["drive_m"] for leg in first) == route.drive_m


def test_lines_are_longitude_first_and_end_at_the_sites(planned: Company) -> None:
    """RFC 7946, section 3.1.1; S1 lies at longitude 0.001 on the equator."""
    with planned.reading() as session:
        lines = route_lines(session, planned.settings, WEEK)
    (to_s1,) = [one for one in lines["features"] if one["properties"]["to"] == "site:S1"]
    assert to_s1["geometry"]["type"] == "LineString"
    assert to_s1["geometry"]["coordinates"][-1] == pytest.approx([0.001, 0.0], abs=6e-6)


def test_lines_once_drawn_come_from_the_disk(planned: Company) -> None:
    """Drawing takes a search for each leg; a page must not wait for it twice."""
    with planned.reading() as session:
        first = route_lines(session, planned.settings, WEEK)
        files = list(planned.settings.matrix_dir.glob("lines-*.json"))
        assert len(files) == len(week_plan(session, WEEK).routes)
        for file in files:
            file.write_text("[]")
        assert route_lines(session, planned.settings, WEEK)["features"] == []
        for file in files:
            file.unlink()
        assert route_lines(session, planned.settings, WEEK) == first


def test_a_place_that_left_the_streets_has_no_line(planned: Company) -> None:
    """All other lines are still drawn; RFC 7946, section 3.2, has null for such a geometry."""
    with planned.writing() as session:
        text = SITES_CSV.replace("S1,Invented One,,0,0.001", "S1,Invented One,,0.02,0.001")
        import_sites(session, planned.settings, text)
        features = route_lines(session, planned.settings, WEEK)["features"]
    lost = {one["properties"]["leg"] for one in features if one["geometry"] is None}
    assert len(lost) == 2  # to S1 and away from it
    assert any(one["geometry"] is not None for one in features)


def test_a_week_without_a_plan_has_no_lines(company: Company) -> None:
    """Not an empty map, which would look like a week without work."""
    with company.reading() as session, pytest.raises(NotFound):
        route_lines(session, company.settings, WEEK)
