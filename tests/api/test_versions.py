from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from api.callers import COOKIE
from api.rights import RIGHTS
from api.versions import CHANGED, READ
from tests.signed_in import DISPATCHER, session_of
from tests.town import Company

HOLD = "/api/holds/S1/2026-12-14"
ROW = "id,name,lat,lon,rhythm,service_min\nS1,Another Name,0,0.001,weekly,30\n"


def test_what_is_versioned_is_a_route() -> None:
    """A path that was renamed would lose its check unseen."""
    assert {*READ, *CHANGED} <= set(RIGHTS)


def test_a_change_of_what_was_looked_at_is_taken(client: TestClient) -> None:
    """The usual case: nobody else was there."""
    etag = client.get("/api/sites").headers["etag"]
    assert re.fullmatch(r'"[0-9a-f]{20}"', etag)
    assert client.get("/api/sites").headers["etag"] == etag
    file = {"file": ("sites.csv", ROW)}
    answer = client.post("/api/sites/import", files=file, headers={"If-Match": etag})
    assert answer.status_code == 200
    assert client.get("/api/sites").headers["etag"] != etag


def test_a_change_of_what_somebody_else_changed_is_refused_with_who_and_when(
    planned: Company, client: TestClient
) -> None:
    """The later of two must hear of the first, instead of wiping out what was done."""
    etag = client.get("/api/sites").headers["etag"]
    site = client.get("/api/sites/S1").headers["etag"]
    file = {"file": ("sites.csv", ROW)}
    own = client.cookies[COOKIE]
    client.cookies.set(COOKIE, session_of(planned.engine, planned.settings, DISPATCHER))
    assert client.post("/api/sites/import", files=file).status_code == 200
    client.cookies.set(COOKIE, own)

    late = client.post("/api/sites/import", files=file, headers={"If-Match": etag})
    gone = client.delete("/api/sites/S1", headers={"If-Match": site})

    assert late.status_code == gone.status_code == 412
    assert late.json()["code"] == "changed-meanwhile"
    assert "The list of sites was changed by Invented Desk on 2026-11-2" in late.json()["detail"]
    assert "The site S1 was changed by Invented Desk on 2026-11-2" in gone.json()["detail"]
    assert client.get("/api/sites/S1").json()["name"] == "Another Name"


@pytest.mark.parametrize("match", ["*", ""])
def test_who_does_not_care_is_not_stopped(client: TestClient, match: str) -> None:
    """A script that sends no version means the newest, whatever it is."""
    headers = {"If-Match": match} if match else {}
    answer = client.post(f"{HOLD}/end", json={"last_day": "2026-12-18"}, headers=headers)
    assert answer.status_code == 200


def test_a_form_says_which_version_it_showed_and_keeps_what_was_typed(client: TestClient) -> None:
    """Two dispatchers have the same page open; the second must not have to type again."""
    page = client.get("/upkeep/sand-change").text
    seen = re.search(r'name="version" value="([0-9a-f]+)"', page)
    assert seen is not None
    fields = {"fields": {"minutes": "95"}}
    assert client.put("/api/upkeep/kinds/sand-change", json=fields).status_code == 200

    form = {"version": seen[1], "active": "yes", "minutes": "125", "caution": "<b>Mind</b>"}
    answer = client.post("/upkeep/sand-change", data=form)

    assert answer.status_code == 412
    assert "was changed by Invented Owner" in answer.text
    assert 'name="minutes" value="125"' in answer.text
    assert "&lt;b&gt;Mind&lt;/b&gt;" in answer.text
    assert 'name="version" value="*"' in answer.text
    kinds = {one["kind"]: one["fields"] for one in client.get("/api/upkeep/kinds").json()}
    assert kinds["sand-change"]["minutes"] == "95"


def test_the_forms_of_a_list_carry_the_version_of_each_row(client: TestClient) -> None:
    """The list is the page that stays open longest."""
    page = client.get("/sites").text
    seen = re.search(r'/holds/S1/2026-12-14/end"><input [^>]*value="([0-9a-f]+)"', page)
    assert seen is not None
    form = {"last_day": "2026-12-19", "version": seen[1]}
    assert client.post("/holds/S1/2026-12-14/end", data=form).status_code == 200
    again = client.post("/holds/S1/2026-12-14/end", data={**form, "last_day": "2026-12-17"})
    assert again.status_code == 412
