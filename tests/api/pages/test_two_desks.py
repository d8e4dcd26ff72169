"""Two dispatchers at work on the same week: what one of them did, the other one sees first."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from tests.api.pages.test_board import options_of, visit_of
from tests.api.pages.test_week import break_a_rule
from tests.town import MONDAY, WEEK

S1 = "S1/2026-W49/1"


def fields_of(page: str, action: str, nth: int = 0) -> dict[str, str]:
    """The hidden fields of a form of a page, by where it is sent to."""
    forms = re.findall(rf'<form[^>]* action="{re.escape(action)}"[^>]*>(.*?)</form>', page, re.S)
    return {
        name: html.unescape(value)
        for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', forms[nth])
    }


def take_out(client: TestClient, visit_id: str) -> None:
    """The other dispatcher takes a visit out of the plan."""
    version = client.get(f"/api/weeks/{WEEK}/desk").json()["version"]
    edit = {"deed": "take-out", "visit_id": visit_id}
    body = {"version": version, "edits": [edit]}
    assert client.post(f"/api/weeks/{WEEK}/edits", json=body).status_code == 200


@pytest.mark.parametrize(
    ("page", "action"),
    [
        (f"/week/{WEEK}", f"/week/{WEEK}/publish"),
        (f"/week/{WEEK}", f"/day/{MONDAY}/publish"),
        (f"/week/{WEEK}/check", f"/week/{WEEK}/publish"),
        (f"/day/{MONDAY}", f"/week/{WEEK}/publish"),
        (f"/day/{MONDAY}", f"/day/{MONDAY}/publish"),
    ],
)
def test_nobody_publishes_a_plan_that_another_has_just_changed(
    client: TestClient, page: str, action: str
) -> None:
    """Half of a change would be driven: the other one is not done with it yet."""
    seen = fields_of(client.get(page).text, action)
    take_out(client, S1)

    answer = client.post(action, data=seen)

    assert answer.status_code == 412
    assert "Invented One taken out" in answer.text
    assert client.get("/api/days").json() == []
    again = client.post(action, data=fields_of(client.get(page).text, action))
    assert again.status_code == 200
    assert client.get("/api/days").json()


def test_what_changed_on_another_day_keeps_nobody_from_publishing_this_one(
    client: TestClient,
) -> None:
    """One works on Thursday, the other one lets Monday out."""
    action = f"/day/{MONDAY}/publish"
    seen = fields_of(client.get(f"/week/{WEEK}").text, action)
    plan = client.get(f"/api/weeks/{WEEK}/plan").json()
    (other,) = [
        stop["visit_id"]
        for route in plan["routes"]
        for stop in route["stops"]
        if route["day"] != str(MONDAY)
    ]
    take_out(client, other)

    assert client.post(action, data=seen).status_code == 200
    assert client.get("/api/days").json() == [str(MONDAY)]


def test_publish_anyway_is_about_the_points_that_were_read(client: TestClient) -> None:
    """One broken rule was accepted; a customer whom another took out since was not."""
    break_a_rule(client)
    page = client.get(f"/week/{WEEK}").text
    action = f"/week/{WEEK}/publish"
    asked = client.post(action, data=fields_of(page, action)).text
    take_out(client, S1)

    assert client.post(action, data=fields_of(asked, action)).status_code == 412
    assert client.get("/api/days").json() == []


@pytest.mark.parametrize("page", [f"/week/{WEEK}", f"/day/{MONDAY}"])
def test_nobody_puts_the_plan_in_place_of_a_repair_he_has_not_seen(
    client: TestClient, page: str
) -> None:
    """The page is from before the repair; the hint beside the button was not there yet."""
    action = f"/day/{MONDAY}/publish"
    client.post(action)
    take_out(client, S1)  # so that the page of the week offers to publish the day again
    seen = fields_of(client.get(page).text, action)
    asked = {"kind": "stop-cancelled", "visit_id": visit_of(client, "S2")}
    option = options_of(client.get(f"/day/{MONDAY}/repair", params=asked).text)[0]
    client.post(f"/day/{MONDAY}/repair", data={**option, "reason": "The owner is away"})
    before = client.get(f"/api/days/{MONDAY}/history").json()

    answer = client.post(action, data=seen)

    assert answer.status_code == 412
    assert "The owner is away" in answer.text
    assert client.get(f"/api/days/{MONDAY}/history").json() == before


def test_a_plan_seen_too_early_offers_nothing_that_cannot_be_done(client: TestClient) -> None:
    """What another did to the plan is looked at first; 'save mine all the same' would fail."""
    seen = fields_of(client.get(f"/week/{WEEK}").text, f"/week/{WEEK}/carry")
    take_out(client, S1)

    answer = client.post(f"/week/{WEEK}/carry", data=seen)

    assert answer.status_code == 412
    assert "Save mine all the same" not in answer.text
    assert "Look at it as it is now" in answer.text


def test_nobody_takes_a_proposal_he_has_not_compared(client: TestClient) -> None:
    """It was planned again meanwhile, and another proposal stands beside the same plan."""
    take_out(client, S1)
    propose(client, 1)
    seen = fields_of(client.get(f"/week/{WEEK}").text, f"/week/{WEEK}/proposal/take")
    propose(client, 2)

    for deed in ("take", "drop"):
        answer = client.post(f"/week/{WEEK}/proposal/{deed}", data=seen)
        assert answer.status_code == 412
        assert 'id="proposal"' in client.get(f"/week/{WEEK}").text
    fresh = fields_of(client.get(f"/week/{WEEK}").text, f"/week/{WEEK}/proposal/take")
    assert client.post(f"/week/{WEEK}/proposal/take", data=fresh).status_code == 200


def propose(client: TestClient, seed: int) -> None:
    """Plan again and wait for the proposal."""
    data = {"seed": seed, "iterations": 50}
    answer = client.post(f"/week/{WEEK}/plan", data=data, follow_redirects=False)
    client.get(f"/api/jobs/{answer.headers['location'].partition('job=')[2]}/events")


@pytest.mark.parametrize("what", [f"weeks/{WEEK}", f"days/{MONDAY}"])
def test_a_program_publishes_what_it_says_it_has_seen(client: TestClient, what: str) -> None:
    """One that says nothing publishes what there is."""
    seen = {"version": client.get(f"/api/weeks/{WEEK}/desk").json()["version"]}
    take_out(client, S1)

    refused = client.post(f"/api/{what}/publish", params=seen)

    assert (refused.status_code, refused.json()["code"]) == (412, "changed-meanwhile")
    assert client.get("/api/days").json() == []
    now = {"version": client.get(f"/api/weeks/{WEEK}/desk").json()["version"]}
    assert client.post(f"/api/{what}/publish", params=now | {"anyway": True}).status_code == 200
    assert client.post(f"/api/{what}/publish").status_code == 200


def test_a_program_puts_no_plan_in_place_of_a_repair_it_has_not_seen(client: TestClient) -> None:
    """It says the number of the latest repair it knows, as the history has it."""
    client.post(f"/api/days/{MONDAY}/publish")
    asked = {"kind": "stop-cancelled", "visit_id": visit_of(client, "S2")}
    option = options_of(client.get(f"/day/{MONDAY}/repair", params=asked).text)[0]
    client.post(f"/day/{MONDAY}/repair", data={**option, "reason": "The owner is away"})
    number = client.get(f"/api/days/{MONDAY}/history").json()[-1]["number"]

    refused = client.post(f"/api/days/{MONDAY}/publish", params={"repair": 0})

    assert refused.status_code == 412
    assert "The owner is away" in refused.json()["detail"]
    answer = client.post(f"/api/days/{MONDAY}/publish", params={"repair": number})
    assert answer.status_code == 200
