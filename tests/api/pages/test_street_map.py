from __future__ import annotations

from starlette.testclient import TestClient

from tests.actions.test_maps import FAR_SITE, FAR_TECHNICIAN
from tests.drive.drawing import roads
from tests.town import Company


def test_the_page_tells_what_the_map_holds(reader: TestClient) -> None:
    """The drawn town: seven streets are fourteen edges; 2 houses; 34 columns of 25 m are 850 m."""
    text = reader.get("/map").text.replace("\N{MULTIPLICATION SIGN}", "by")

    for words in ("drawn.osm", "2.0 km", ">14<", ">2<", "0.8 km by 0.1 km", "OpenStreetMap cont"):
        assert words in text, words
    assert 'action="/map"' in text


def test_without_a_map_the_page_offers_to_build_one(bare_client: TestClient) -> None:
    """The first page a newcomer is sent to."""
    text = bare_client.get("/map").text

    assert "There is no street map yet" in text
    assert "Build the map" in text
    assert "/static/map.js" not in text


def test_a_damaged_map_is_told_on_the_page_that_mends_it(
    client: TestClient, planned: Company
) -> None:
    """An error page would leave the company without a way out."""
    for file in planned.settings.map_dir.glob("*.npz"):
        file.write_bytes(b"broken")

    answer = client.get("/map")

    assert answer.status_code == 200
    assert "is damaged" in answer.text
    assert 'action="/map"' in answer.text


def test_places_off_the_streets_are_told_where_they_are_mended(client: TestClient) -> None:
    """A pool 2.2 km from any street, and a yard as far off."""
    for noun, table in (("sites", FAR_SITE), ("technicians", FAR_TECHNICIAN)):
        answer = client.post(f"/api/{noun}/import", files={"file": ("t.csv", table)}).json()
        (warning,) = answer["warnings"]
        assert "is 2.2 km from the nearest street" in warning
        assert warning in client.get(f"/{noun}").text
    assert set(client.get("/api/map/off-street").json()) == {"site:S9", "end:T9"}
    assert "2 places of the book cannot be driven to" in client.get("/map").text


def test_a_book_on_the_streets_is_not_disturbed(reader: TestClient) -> None:
    """No notice, no warning."""
    assert reader.get("/api/map/off-street").json() == {}
    for address in ("/sites", "/technicians", "/map"):
        assert "Off the streets" not in reader.get(address).text


def test_a_form_without_scripts_leads_back_to_the_page(
    client: TestClient, planned: Company
) -> None:
    """Also the one that stops."""
    file = roads("a---b").write(planned.settings.data_dir)
    with file.open("rb") as content:
        begun = client.post("/map", files={"file": content}, follow_redirects=False)
    address = begun.headers["location"]
    assert begun.status_code == 303
    job = address.removeprefix("/map?job=")
    assert "Building the map from drawn.osm" in client.get(address).text

    stopped = client.post(f"/map/stop/{job}", follow_redirects=False)

    assert (stopped.status_code, stopped.headers["location"]) == (303, address)
