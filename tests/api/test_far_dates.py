"""Weeks and days so far away that the calendar ends beside them, or that nobody means."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

FAR_WEEKS = ("0000-W01", "0001-W01", "9999-W52")
FAR_DAYS = ("0001-01-01", "9999-12-31")
OF_WEEKS = (
    *("/api/weeks/{}/visits-due", "/api/weeks/{}/not-due.csv", "/api/weeks/{}/upkeep-due"),
    *("/api/weeks/{}/findings", "/api/weeks/{}/check-list", "/api/loads/{}", "/week/{}"),
)
OF_DAYS = (
    *("/day/{}", "/api/phone/days/T1/{}", "/api/days/{}", "/api/phone/entries?day={}"),
    *("/api/records?from={}", "/api/records?to={}"),
)
ADDRESSES = [one.format(week) for one in OF_WEEKS for week in FAR_WEEKS]
ADDRESSES += [one.format(day) for one in OF_DAYS for day in FAR_DAYS]


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_slip_in_the_year_is_told(reader: TestClient, address: str) -> None:
    """The person who typed the address reads what to mend, not that something broke."""
    answer = reader.get(address)
    assert answer.status_code == 422
    assert "lies outside the years 1900 to 2199" in answer.text


@pytest.mark.parametrize("week", ["1900-W01", "2199-W52"])
def test_the_first_and_the_last_week_are_answered(reader: TestClient, week: str) -> None:
    """The weeks beside them are looked at for what was missed and what comes next."""
    assert reader.get(f"/api/weeks/{week}/visits-due").status_code == 200
    assert reader.get(f"/week/{week}").status_code == 200


@pytest.mark.parametrize(
    ("address", "body"),
    [
        ("/api/one-offs", {"site_id": "S2", "title": "Mend", "minutes": [30], "first_day": 0}),
        ("/api/one-offs", {"site_id": "S2", "title": "Mend", "minutes": [30], "last_day": 0}),
        ("/api/holds", {"site_id": "S1", "first_day": "2026-12-01", "last_day": 0}),
        (
            "/api/standing/changes",
            {"site_id": "S1", "technician_id": "T2", "weekdays": ["Wed"], "why": "x", "from_on": 0},
        ),
    ],
)
@pytest.mark.parametrize("day", FAR_DAYS)
def test_a_far_day_does_not_get_into_the_book(
    client: TestClient, address: str, body: dict[str, object], day: str
) -> None:
    """There it would break the lists of every week."""
    answer = client.post(address, json={k: day if v == 0 else v for k, v in body.items()})
    assert answer.status_code == 422
    assert f"'{day}' lies outside the years" in answer.json()["detail"]


def test_a_far_day_is_told_in_a_form_too(client: TestClient) -> None:
    """As on the page of sites."""
    form = {"site_id": "S1", "first_day": "2026-12-01", "last_day": "9999-12-31"}
    answer = client.post("/holds", data=form, follow_redirects=False)
    assert answer.status_code == 422
    assert "lies outside the years" in answer.text
