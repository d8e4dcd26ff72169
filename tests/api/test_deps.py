from __future__ import annotations

import pytest
from fastapi import FastAPI
from sqlalchemy import Connection, event
from starlette.testclient import TestClient

from api import deps
from tests.town import SITES_CSV, WEEK

NEW_SITE = "id,name,lat,lon,rhythm,service_min\nS9,Invented Nine,0,0.002,weekly,20\n"


def test_a_commit_that_fails_is_told_and_leaves_nothing(client: TestClient) -> None:
    """Without scope="function" the answer would leave as 200 before the commit is tried."""
    app = client.app
    assert isinstance(app, FastAPI)

    def orphan_the_routes(connection: Connection) -> None:
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        connection.exec_driver_sql("UPDATE plan SET week = 'gone'")  # the commit will refuse it

    event.listen(app.state.engine, "commit", orphan_the_routes)
    answer = client.post("/api/sites/import", files={"file": ("sites.csv", NEW_SITE)})
    event.remove(app.state.engine, "commit", orphan_the_routes)

    assert answer.status_code == 500
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["code"] == "internal-error"
    assert client.get("/api/sites/S9").status_code == 404
    assert client.get("/api/weeks").json() == [str(WEEK)]


def test_a_good_import_is_there_when_its_answer_is(client: TestClient) -> None:
    """The other side of the commit before the answer."""
    answer = client.post("/api/sites/import", files={"file": ("sites.csv", NEW_SITE)})

    assert answer.json() == {"imported": 1, "warnings": []}
    assert client.get("/api/sites/S9").json()["service_min"] == 20


def test_a_table_with_one_bad_row_is_taken_in_not_at_all(client: TestClient) -> None:
    """Half an import is worse than none: nobody knows which half."""
    rows = NEW_SITE + "S10,Invented Ten,91,0.002,weekly,20\n"

    answer = client.post("/api/sites/import", files={"file": ("sites.csv", rows)})

    assert answer.status_code == 422
    body = answer.json()
    assert body["code"] == "import-rejected"
    assert [(row["line"], row["column"], row["value"]) for row in body["problems"]] == [
        (3, "lat", "91")
    ]
    assert client.get("/api/sites/S9").status_code == 404


def test_an_upload_beyond_the_limit_is_refused(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A huge file must not fill the memory; the limit is made small to keep the test quick."""
    monkeypatch.setattr(deps, "LARGEST_UPLOAD_B", 100)

    answer = client.post("/api/sites/import", files={"file": ("sites.csv", SITES_CSV)})

    assert answer.status_code == 413
    assert answer.json()["code"] == "too-large"


def test_a_workbook_is_refused_with_the_mend(client: TestClient) -> None:
    """People upload what the spreadsheet saved by itself."""
    answer = client.post("/api/sites/import", files={"file": ("sites.xlsx", b"PK\x03\x04rest")})

    assert answer.status_code == 422
    assert "as CSV UTF-8" in answer.json()["problems"][0]["mend"]


@pytest.mark.parametrize("address", ["/api/weeks/2026-W54/plan", "/api/weeks/soon/plan"])
def test_a_week_that_is_none_is_told_in_words(client: TestClient, address: str) -> None:
    """2026 has 53 weeks (ISO 8601); the message says so."""
    answer = client.get(address)

    assert answer.status_code == 422
    assert answer.json()["code"] == "invalid-value"
