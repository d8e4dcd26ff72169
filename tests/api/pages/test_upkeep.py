"""The pages of the year and of the table of upkeep."""

from __future__ import annotations

import html
import re

from starlette.testclient import TestClient

from tests.town import WEEK


def test_the_due_list_says_why(reader: TestClient) -> None:
    """Who reads the list sees the reason beside the upkeep."""
    assert "last done 1 Jun 2021, due after 5 years" in reader.get(f"/due/{WEEK}").text


def test_the_year_is_drawn_once_upkeep_has_been_spread(client: TestClient) -> None:
    """Before, a form; after, a chart with its table and the gap in words."""
    assert "Spread upkeep over the weeks" in client.get("/year").text
    answer = client.post("/year", data={"weeks": 13}, follow_redirects=False)
    client.get(f"/api/jobs/{answer.headers['location'].partition('job=')[2]}/events")
    page = client.get(answer.headers["location"]).text
    assert "Load of Invented Alma by week" in page
    assert "dearer than the best there can be" in page
    assert "80 % likelihood" in page


def test_a_kind_is_changed_in_its_form(client: TestClient) -> None:
    """What the form shows goes back unchanged but for the minutes."""
    page = client.get("/upkeep/cell-inspection").text
    assert 'value="3 months"' in page
    fields = client.get("/api/upkeep/kinds").json()
    (kind,) = [one for one in fields if one["kind"] == "cell-inspection"]
    sent = kind["fields"] | {"minutes": "8", "gross_minutes": "8", "version": "*"}
    sent.pop("source")
    answer = client.post("/upkeep/cell-inspection", data=sent, follow_redirects=False)
    assert answer.headers["location"] == "/upkeep"
    assert "Salt cell inspection</a> <strong>changed</strong>" in client.get("/upkeep").text
    client.post("/upkeep/cell-inspection/reset", data={"version": "*"})
    assert "<strong>changed</strong>" not in client.get("/upkeep").text


def test_a_kind_is_shown_and_read_back_in_the_readers_units(client: TestClient) -> None:
    """8 psi are 55.2 kPa and 300 lb 136.078 kg (NIST SP 811)."""
    client.post("/account/units", data={"units": "customary"})
    assert re.search(r'name="threshold" value="[\d.]+ psi"', client.get("/upkeep/backwash").text)
    page = client.get("/upkeep/sand-change").text
    assert re.search(r'name="filling_kg" value="[\d.]+ lb"', page)
    assert " kg" not in page
    client.post("/upkeep/backwash", data=shown(client, "backwash") | {"threshold": "8"})
    client.post("/upkeep/sand-change", data=shown(client, "sand-change") | {"filling_kg": "300"})
    kinds = {one["kind"]: one["fields"] for one in client.get("/api/upkeep/kinds").json()}
    assert kinds["backwash"]["threshold"] == "55.2"
    assert kinds["sand-change"]["filling_kg"] == "136.078"
    assert shown(client, "sand-change")["filling_kg"] == "300 lb"


def shown(client: TestClient, kind: str) -> dict[str, str]:
    """What the form of a kind shows."""
    page = client.get(f"/upkeep/{kind}").text
    fields = re.findall(r'type="text" name="(\w+)" value="([^"]*)"', page)
    caution = re.search(r"<textarea[^>]*>(.*?)</textarea>", page, re.DOTALL)
    assert caution is not None
    said = {name: html.unescape(text) for name, text in fields}
    return said | {"caution": html.unescape(caution[1]), "active": "yes", "version": "*"}


def test_a_slip_in_the_form_is_told(client: TestClient) -> None:
    """A page with the mend, and nothing kept."""
    answer = client.post("/upkeep/backwash", data={"minutes": "soon", "version": "*"})
    assert answer.status_code == 422
    assert "is no number of minutes" in answer.text
    assert client.get("/upkeep/polish").status_code == 404


def test_a_site_shows_its_register_what_is_due_and_a_forecast(reader: TestClient) -> None:
    """All that is known there, each date with its reason, each life with its interval."""
    page = reader.get("/sites/S2").text
    assert "sand; 136 kg of media; media changed 1 Jun 2021" in page
    assert "Because: last done 1 Jun 2021, due after 5 years." in page
    assert "no life of its own yet at this site, and the fleet" in page
    assert "How long the parts will last" not in reader.get("/sites/S1").text


def test_the_day_sheet_says_why_upkeep_is_due(reader: TestClient) -> None:
    """Who opens a filter should know what for."""
    days = [reader.get(f"/day/T1/{day}").text for day in WEEK.days]
    assert any("Because: last done 1 Jun 2021, due after 5 years." in page for page in days)
