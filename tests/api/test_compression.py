from __future__ import annotations

from starlette.testclient import TestClient

from tests.town import WEEK


def test_text_travels_compressed(reader: TestClient) -> None:
    """A week's page shrinks to a fraction; phones on a bad line notice."""
    answer = reader.get("/static/week.js", headers={"Accept-Encoding": "gzip"})

    assert answer.headers["content-encoding"] == "gzip"


def test_the_street_map_and_its_ranges_travel_as_they_are(reader: TestClient) -> None:
    """A compressed range cannot be put together with its neighbours."""
    headers = {"Accept-Encoding": "gzip", "Range": "bytes=0-1999"}

    answer = reader.get("/api/map/basemap.pmtiles", headers=headers)

    assert answer.status_code == 206
    assert "content-encoding" not in answer.headers


def test_who_wants_no_compression_gets_none(reader: TestClient) -> None:
    """RFC 9110: `identity` is always acceptable."""
    answer = reader.get(f"/week/{WEEK}", headers={"Accept-Encoding": "identity"})

    assert "content-encoding" not in answer.headers
