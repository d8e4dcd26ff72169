"""The phone's calls: the day with all that the gate asks for, and entries in and out."""

from __future__ import annotations

from datetime import timedelta

from starlette.testclient import TestClient

from tests.town import MONDAY, Company

SENDING = {
    "phone": "6b0f4c9e-0f5d-4d68-9c53-0c4c1f6b7a10",
    "sent_at": "2026-11-25T10:00:00Z",
    "entries": [
        {
            "id": "1d1a2a3f-54c3-4d0e-8a4e-0c2e1f3b5a77",
            "number": 1,
            "technician_id": "T1",
            "day": "2026-11-30",
            "kind": "note",
            "at": "2026-11-25T10:00:00Z",
            "note": "the side gate squeaks",
        }
    ],
}


def publish(company: Company) -> None:
    """Publish Monday, as the office does."""
    from dispatch.actions.day import publish_day

    with company.writing() as session:
        at = company.settings.now()
        publish_day(session, company.settings, MONDAY, who="Invented Desk", at=at)


def test_a_published_day_holds_all_that_the_gate_asks_for(
    client: TestClient, planned: Company
) -> None:
    """Without signal nothing can be asked for later."""
    path = f"/api/phone/days/T1/{MONDAY}"
    before = client.get(path).json()
    assert (before["published"], before["stops"]) == (False, [])
    assert "not published" in before["why_empty"]
    publish(planned)
    day = client.get(path).json()
    first, second = day["stops"]
    assert (first["gate_note"], second["dog_note"]) == ("Left gate", "loose")
    assert first["gate_code"] == ""  # for the technician alone, on the day itself
    assert [one["title"] for one in second["upkeep"]] == ["Sand change"]
    assert "Lift with two" in second["upkeep"][0]["caution"]
    assert day["mass_kg"] >= 136.2  # kg; six bags of sand
    assert day["rules"]["limits"]["filter-pressure"]["units"] == ["kPa", "psi"]


def test_the_phone_tells_of_a_hold_at_the_stop(client: TestClient, planned: Company) -> None:
    """Entered after the day was published; in words, with what to do."""
    from dispatch.actions.holds import add_hold
    from dispatch.sites import Hold

    publish(planned)
    with planned.writing() as session:
        add_hold(session, Hold("S1", MONDAY, MONDAY, "pool is painted"))
    first, second = client.get(f"/api/phone/days/T1/{MONDAY}").json()["stops"]
    assert first["hold"] == (
        "The customer has a hold from 2026-11-30 to 2026-11-30: ask the office before you drive "
        "there. pool is painted"
    )
    assert second["hold"] == ""


def test_an_empty_day_leads_to_the_next_published_one(client: TestClient, planned: Company) -> None:
    """Who looks at the phone on a Sunday wants to see Monday, and the office too."""
    sunday = MONDAY - timedelta(days=1)
    path = f"/api/phone/days/T1/{sunday}"
    assert client.get(path).json()["next_day"] is None
    publish(planned)
    assert client.get(path).json()["next_day"] == str(MONDAY)
    assert client.get(f"/api/phone/days/T1/{MONDAY}").json()["next_day"] is None
    assert f'href="/day/{MONDAY}"' in client.get(f"/day/{sunday}").text
    assert client.get(f"/day/T1/{MONDAY}").status_code == 200


def test_entries_are_answered_and_listed(client: TestClient, planned: Company) -> None:
    """Sent twice, listed once, and as a table too."""
    publish(planned)
    outcomes = [
        client.post("/api/phone/entries", json=SENDING).json()["entries"][0]["outcome"]
        for _ in range(2)
    ]
    assert outcomes == ["taken", "already"]
    (entry,) = client.get("/api/phone/entries", params={"technician": "T1"}).json()
    assert (entry["place"], entry["kind"], entry["outcome"]) == (1, "note", "taken")
    assert len(client.get("/api/phone/entries.csv").text.splitlines()) == 2


def test_the_page_and_its_worker_open_without_being_signed_in(client: TestClient) -> None:
    """The phone keeps them; they hold nothing of the company."""
    client.cookies.clear()
    assert client.get("/phone/T1").status_code == 200
    worker = client.get("/phone-worker.js")
    assert worker.headers["service-worker-allowed"] == "/phone"
    assert client.get("/api/phone/days/T1").status_code == 401
