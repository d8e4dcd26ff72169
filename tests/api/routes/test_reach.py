from __future__ import annotations

from starlette.testclient import TestClient


def test_sites_near_an_address_are_told_nearest_first(reader: TestClient) -> None:
    """S1 and S2 lie on the street of the address, 26 m and 137 m from it; S3 is a minute away."""
    asked = {"address": "2 ab street", "minutes": "0.3"}
    answer = reader.get("/api/map/within", params=asked).json()

    assert [(one["site_id"], one["drive_s"]) for one in answer["sites"]] == [("S1", 2), ("S2", 12)]
    assert (answer["street"], answer["limit_s"], answer["no_drive"]) == ("ab street", 18, {})


def test_an_address_that_nobody_knows_is_told(reader: TestClient) -> None:
    """Not an empty list, which would read as no sites near it."""
    answer = reader.get("/api/map/within", params={"address": "7 Nowhere Road"})

    assert answer.json()["code"] == "address-not-found"
    assert answer.status_code in (404, 422)
