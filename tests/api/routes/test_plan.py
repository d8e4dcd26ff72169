from __future__ import annotations

from starlette.testclient import TestClient

from tests.town import WEEK


def test_route_lines_are_geojson_with_longitude_first(reader: TestClient) -> None:
    """RFC 7946, 3.1.1; the drawn town spans 0 to 0.0072 degrees of longitude on the equator."""
    answer = reader.get(f"/api/weeks/{WEEK}/routes.geojson")

    assert answer.headers["content-type"] == "application/geo+json"
    legs = answer.json()["features"]
    plan = reader.get(f"/api/weeks/{WEEK}/plan").json()
    assert len(legs) == sum(len(route["stops"]) + 1 for route in plan["routes"])
    for leg in legs:
        for lon, lat in leg["geometry"]["coordinates"]:
            assert -0.0001 <= lon <= 0.0073
            assert -0.001 <= lat <= 0.0001


def test_planned_weeks_are_listed(reader: TestClient) -> None:
    """One week is planned."""
    assert reader.get("/api/weeks").json() == [str(WEEK)]


def test_a_week_without_a_plan_is_not_found(reader: TestClient) -> None:
    """An empty plan would look like a free week."""
    for name in ("plan", "routes.geojson", "workloads", "stops.csv"):
        assert reader.get(f"/api/weeks/{WEEK.next}/{name}").status_code == 404, name


def test_stops_count_from_one_and_never_overlap(reader: TestClient) -> None:
    """The JSON tells the same day as the timetable."""
    for route in reader.get(f"/api/weeks/{WEEK}/plan").json()["routes"]:
        numbers = [stop["number"] for stop in route["stops"]]
        assert numbers == list(range(1, len(numbers) + 1))
        for before, after in zip(route["stops"], route["stops"][1:], strict=False):
            assert before["leave_s"] + after["drive_s"] <= after["arrive_s"]


def test_every_endpoint_says_what_it_does(reader: TestClient) -> None:
    """The OpenAPI description is the API's manual."""
    paths = reader.get("/api/openapi.json").json()["paths"]

    assert all(address.startswith("/api/") for address in paths)
    for address, methods in paths.items():
        for method, operation in methods.items():
            assert operation["description"].endswith("."), (method, address)
