from __future__ import annotations

import re
from collections import defaultdict

import pytest
from starlette.testclient import TestClient

from api.callers import COOKIE
from api.rights import RIGHTS
from api.versions import CHANGED, READ
from dispatch.actions.versions import Thing, check_version
from dispatch.errors import ChangedMeanwhile
from tests.signed_in import DISPATCHER, session_of
from tests.town import Company

ANY = {"If-Match": "*"}
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


def test_who_does_not_say_what_he_looked_at_is_asked_to(client: TestClient) -> None:
    """428 (RFC 6585, section 3): the change of another would be wiped out unseen."""
    end = {"last_day": "2026-12-18"}
    answer = client.post(f"{HOLD}/end", json=end)
    assert (answer.status_code, answer.json()["code"]) == (428, "version-missing")
    assert client.post("/holds/S1/2026-12-14/delete").status_code == 428
    etag = client.get("/api/holds").headers["etag"]  # of the list, in which the hold stands
    assert client.post(f"{HOLD}/end", json=end, headers={"If-Match": etag}).status_code == 200
    assert client.post(f"{HOLD}/end", json=end, headers={"If-Match": etag}).status_code == 412
    assert client.post(f"{HOLD}/end", json=end, headers={"If-Match": "*"}).status_code == 200


def test_every_change_of_one_thing_asks_for_its_version(client: TestClient) -> None:
    """A route that is new in the table is asked here too; lists are changed by imports alone."""
    names = {"site_id": "S1", "technician_id": "T1", "first_day": "2026-12-14", "kind": "ph"}
    for deed, thing in CHANGED.items():
        if not thing.value.key:
            continue
        method, path = deed.split(" ")
        kind = {"kind": "backwash"} if "upkeep" in path else {}
        path = path.format_map(defaultdict(lambda: "J1", names | kind))
        answer = client.request(method, path)
        assert answer.status_code in {422, 428}, (deed, answer.text)
        if not path.startswith("/api/") or method == "DELETE":
            assert answer.status_code == 428, (deed, answer.text)


@pytest.mark.parametrize("thing", Thing, ids=lambda one: one.name)
def test_whatever_has_a_version_can_be_asked_for_it(planned: Company, thing: Thing) -> None:
    """Of records there is no list to look at; a change of one is checked all the same."""
    names = {"first_day": "2026-12-14"}
    with planned.reading() as session, pytest.raises(ChangedMeanwhile):
        check_version(session, thing, names, "another", planned.settings.zone)


def test_a_form_says_which_version_it_showed_and_keeps_what_was_typed(client: TestClient) -> None:
    """Two dispatchers have the same page open; the second must not have to type again."""
    page = client.get("/upkeep/sand-change").text
    seen = re.search(r'name="version" value="([0-9a-f]+)"', page)
    assert seen is not None
    fields = {"fields": {"minutes": "95"}}
    assert client.put("/api/upkeep/kinds/sand-change", json=fields, headers=ANY).status_code == 200

    form = {"version": seen[1], "active": "yes", "minutes": "125", "caution": "<b>Mind</b>"}
    form["filling_kg"] = "300 lb"
    answer = client.post("/upkeep/sand-change", data=form)

    assert answer.status_code == 412
    assert "was changed by Invented Owner" in answer.text
    assert 'name="minutes" value="125"' in answer.text
    assert "&lt;b&gt;Mind&lt;/b&gt;" in answer.text
    assert "<dt>filling</dt><dd>300 lb</dd>" in answer.text  # its unit is what was typed
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
    # a route without fields of its own reads the version too
    assert client.post("/holds/S1/2026-12-14/delete", data=form).status_code == 412
    page = client.get("/sites").text
    seen = re.search(r'/holds/S1/2026-12-14/delete"><input [^>]*value="([0-9a-f]+)"', page)
    assert seen is not None
    assert client.post("/holds/S1/2026-12-14/delete", data={"version": seen[1]}).status_code == 200
    assert client.get("/api/holds").json() == []


def test_the_later_of_two_owners_hears_what_the_first_made_of_somebody(
    planned: Company, client: TestClient
) -> None:
    """One makes a dispatcher an owner, the other, with the list of before, corrects the name."""
    dispatcher = {"id": "ben", "name": "Ben", "role": "dispatcher"}
    made = client.post("/api/people", json=dispatcher)
    assert made.status_code == 201, made.text
    seen = {"If-Match": client.get("/api/people").headers["etag"]}
    page = re.search(r'/people/ben/remove"><input [^>]*value="([0-9a-f]+)"', _people(client))
    assert page is not None

    owner = client.put("/api/people/ben", json=dispatcher | {"role": "owner"}, headers=seen)
    late = client.put("/api/people/ben", json=dispatcher | {"name": "Benn"}, headers=seen)

    assert (owner.status_code, late.status_code) == (200, 412)
    assert "The person ben was changed by Invented Owner on 2026-11-2" in late.json()["detail"]
    assert client.post("/people/ben/remove", data={"version": page[1]}).status_code == 412
    found = {one["id"]: one for one in client.get("/api/people").json()}
    assert (found["ben"]["name"], found["ben"]["role"]) == ("Ben", "owner")
    assert client.put("/api/people/ben", json=dispatcher).status_code == 428

    page = re.search(r'/people/ben/remove"><input [^>]*value="([0-9a-f]+)"', _people(client))
    assert page is not None
    assert client.post("/people/ben/remove", data={"version": page[1]}).status_code == 200


def test_what_somebody_chooses_for_himself_is_no_change_by_an_owner(client: TestClient) -> None:
    """Another unit or password would refuse an owner's change for no reason."""
    etag = client.get("/api/people").headers["etag"]
    assert client.post("/account/units", data={"units": "metric"}).status_code == 200
    assert client.get("/api/people").headers["etag"] == etag


def _people(client: TestClient) -> str:
    return client.get("/people").text
