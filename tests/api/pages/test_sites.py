"""The page of sites."""

from __future__ import annotations

import csv
import io

from starlette.testclient import TestClient

from tests.town import SITES_CSV


def test_a_list_imported_twice_does_not_bury_the_sites(client: TestClient) -> None:
    """Under new ids every pool is there twice: some are named, the rest can be unfolded."""
    rows = list(csv.DictReader(io.StringIO(SITES_CSV)))
    again = io.StringIO()
    table = csv.DictWriter(again, list(rows[0]))
    table.writeheader()
    table.writerows({**rows[0], "id": f"X{n}"} for n in range(7))
    assert client.post("/api/sites/import", files={"file": again.getvalue()}).status_code == 200
    page = client.get("/sites").text
    assert "7 sites of the name and address of another" in page
    first, folded = page.split("<summary>2 more</summary>")
    assert first.count("name them apart") == 5
    assert folded.count("name them apart") == 2
