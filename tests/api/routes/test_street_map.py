from __future__ import annotations

from starlette.testclient import TestClient


def test_the_map_tells_its_size_and_its_credit(reader: TestClient) -> None:
    """The drawn town has six crossings, seven streets of two directions and two houses."""
    answer = reader.get("/api/map").json()

    assert (answer["nodes"], answer["addresses"]) == (6, 2)
    assert answer["edges"] == 14
    assert answer["credit"] == "© OpenStreetMap contributors"


def test_the_basemap_is_served_in_byte_ranges(reader: TestClient) -> None:
    """PMTiles begins with its name (PMTiles specification 3); a page asks for parts of it."""
    answer = reader.get("/api/map/basemap.pmtiles", headers={"Range": "bytes=0-6"})

    assert answer.status_code == 206
    assert answer.content == b"PMTiles"
    assert answer.headers["content-range"].startswith("bytes 0-6/")


def test_without_a_map_the_mend_is_told(bare_client: TestClient) -> None:
    """A newcomer reads what to do, not that a file is missing."""
    for address in ("/api/map", "/api/map/basemap.pmtiles"):
        answer = bare_client.get(address)
        assert (answer.status_code, answer.json()["code"]) == (409, "no-map")
        assert answer.json()["command"].startswith("dispatch map build")
