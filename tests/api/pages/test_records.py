"""Pages of records, sites, minutes, loads and water ranges, without a browser."""

from __future__ import annotations

import re
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.records.samples import content, full_content, record_id
from tests.records.test_photos import JPEG


def fields_of(page: str) -> dict[str, str]:
    """The hidden fields of the form."""
    return dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', page))


def form(client: TestClient, path: str, **values: Any) -> dict[str, Any]:
    return {
        **fields_of(client.get(path).text),
        "technician_id": "T1",
        "day": "2026-11-23",
        "arrived": "09:00",
        "left": "09:30",
        **values,
    }


@pytest.mark.parametrize(
    "path",
    ["/sites/S1", "/sites/S1/record", "/records", "/minutes", "/water", "/load/T1/2026-11-30"],
)
def test_every_page_opens_without_any_record(client: TestClient, path: str) -> None:
    """A company that begins has nothing to show yet, and must not see a fault."""
    assert client.get(path).status_code == 200


def test_a_site_shows_its_plots_advice_and_records(client: TestClient) -> None:
    """Two pressures, a low chlorine and a sentence on what is odd."""
    client.post("/api/records", json=full_content())
    low = [{"kind": "free-chlorine", "value": 0.4}, {"kind": "filter-pressure", "value": 18}]
    second = content(2, site_id="S2", readings=low, day="2026-11-24", left_at=None)
    client.post("/api/records", json={**second, "arrived_at": "2026-11-24T16:00:00Z"})
    page = client.get("/sites/S2").text
    assert "Filter pressure: 3 readings from 2026-11-23 to 2026-11-24" in page
    assert "out of the water" in page
    assert "18 psi is 124 kPa" in page
    assert "Liquid chlorine to raise free chlorine" in page
    assert "ANSI/APSP/ICC-11, 2019 (from memory)" in page
    assert "Backwash" in page
    assert client.get("/sites/S9").status_code == 404


def test_several_doses_at_a_site_stand_below_the_caution_of_one_at_a_time(
    client: TestClient,
) -> None:
    """Low chlorine and low calcium: two doses, and not for one bucket."""
    low = [{"kind": "free-chlorine", "value": 0.4}, {"kind": "calcium-hardness", "value": 80}]
    client.post("/api/records", json=content(1, readings=low))
    assert "one product at a time" in client.get("/sites/S1").text
    (caution,) = client.get("/api/sites/S1/water").json()["cautions"]
    assert "never mixed" in caution
    client.post("/api/records", json=content(2, site_id="S2", readings=low[:1]))
    assert "one product at a time" not in client.get("/sites/S2").text


def test_a_record_is_entered_by_hand(client: TestClient) -> None:
    """Readings in the units chosen, products in words, a photo; sent twice it counts once."""
    sent = form(
        client,
        "/sites/S1/record",
        **{
            "reading-ph": "7.4",
            "reading-filter-pressure": "29; 18",
            "unit-filter-pressure": "psi",
            "reading-water-temperature": "84 °F",
            "products": "bleach 32 fl oz @ 125\nsalt 2 bag",
            "work": "brushed\nvacuumed",
            "seen": ["leak"],
            "note": "By hand",
        },
    )
    for _ in range(2):
        answer = client.post(
            "/sites/S1/record",
            data=sent,
            files={"photos": ("a.jpg", JPEG, "image/jpeg")},
            follow_redirects=False,
        )
        assert answer.status_code == 303
    (kept,) = client.get("/api/records").json()
    record = kept["record"]
    assert [round(one["value"], 1) for one in record["readings"]] == [7.4, 28.9, 199.9, 124.1]
    assert [one["amount"] for one in record["products"]] == [32, 2]
    assert record["work"] == ["brushed", "vacuumed"]
    assert len(record["photos"]) == 1
    assert kept["minutes"] == 30
    assert "The record is kept" in client.get(answer.headers["location"]).text


def test_the_photos_of_a_faulty_form_need_not_be_chosen_again(client: TestClient) -> None:
    """A browser empties the field of files, and who mends the pH does not look there again."""
    sent = form(client, "/sites/S1/record", **{"reading-ph": "74"})
    photos = {"photos": ("a.jpg", JPEG, "image/jpeg")}
    page = client.post("/sites/S1/record", data=sent, files=photos).text
    assert "1 photo is kept already." in page
    before = re.search(r'name="photos_before" value="([0-9a-f]{64})"', page)
    assert before is not None
    mended = {**sent, "reading-ph": "7.4", "photos_before": before[1]}
    client.post("/sites/S1/record", data=mended)
    (kept,) = client.get("/api/records").json()
    assert kept["record"]["photos"] == [before[1]]


def test_a_faulty_form_is_shown_again_as_it_was_entered(client: TestClient) -> None:
    """Nothing that was typed is lost, and nothing is set aside: the person is still there."""
    sent = form(client, "/sites/S1/record", **{"reading-water-temperature": "84",
                                               "unit-water-temperature": "°C",
                                               "note": "Typed at the pad"})  # fmt: skip
    answer = client.post("/sites/S1/record", data=sent)
    assert answer.status_code == 422
    assert "84 °F is 28.9 °C" in answer.text
    assert "Typed at the pad" in answer.text
    assert 'value="84"' in answer.text
    assert client.get("/api/records-aside").json() == []
    assert client.get("/api/records").json() == []


def test_a_record_is_corrected_by_hand(client: TestClient) -> None:
    """Only what was changed changes; readings nobody touched keep their method."""
    client.post("/api/records", json=full_content())
    path = f"/records/{record_id(1)}"
    page = client.get(path).text
    assert "ran clear" not in page  # a table of fields has no place for it
    sent = {
        **fields_of(page),
        **dict(re.findall(r'name="(reading-[\w-]+)" value="([^"]+)"', page)),
        "technician_id": "T1",
        "day": "2026-11-23",
        "arrived": re.findall(r'name="arrived" value="([^"]+)"', page)[0],
        "left": re.findall(r'name="left" value="([^"]+)"', page)[0],
        "unit-filter-pressure": "kPa",
        "work": "brushed\nvacuumed",
        "products": "liquid-chlorine 32 fl oz @ 125\nsalt 2 bag",
        "upkeep": ["backwash"],
        "seen": ["leak"],
        "parts_to_order": "Lid o-ring",
        "note": "Gate sticks.",
        "reading-ph": "7.6",
        "unit-pump-speed": "rpm",
        "by": "Office",
        "reason": "misread",
    }
    assert client.post(path, data=sent, follow_redirects=False).status_code == 303
    versions = client.get(f"/api/records/{record_id(1)}/versions").json()
    after = versions[1]["record"]
    ph, chlorine = (
        next(one for one in after["readings"] if one["kind"] == kind)
        for kind in ("ph", "free-chlorine")
    )
    assert (ph["value"], ph["method"]) == (7.6, "entered by hand")
    assert chlorine["method"] == "drops"
    assert after["upkeep"][0]["note"] == "ran clear after two minutes"
    assert "misread" in client.get(path).text
    unsigned = client.post(path, data={**sent, "reading-ph": "7.7", "by": "", "version": "*"})
    assert unsigned.status_code == 422
    assert "who does it" in unsigned.text


def test_the_photos_of_a_visit_are_seen_with_its_record(client: TestClient) -> None:
    """Small beside the record, in full behind the link; nothing says that they are missing."""
    photo = client.post("/api/photos", files={"file": ("a.jpg", JPEG)}).json()["id"]
    client.post("/api/records", json=content(photos=[photo, "cd" * 32]))
    path = f"/records/{record_id(1)}"
    page = client.get(path).text
    assert f'<a href="/api/photos/{photo}"><img src="/api/photos/{photo}" loading="lazy"' in page
    assert 'alt="Photo 1 of the visit on 2026-11-23' in page
    assert "cdcd" not in page.partition("<form")[0]
    assert "1 of 2 photos have not arrived yet" in page
    assert f'<a href="{path}#photos">2 photos</a>' in client.get("/records").text
    site = client.get("/sites/S1").text
    assert f'<a href="/api/photos/{photo}">photo 1</a>, photo 2' in site


def test_follow_ups_are_settled_on_the_page(client: TestClient) -> None:
    """The urgent one stands first with its words."""
    client.post("/api/records", json=content(seen=["drain-cover-loose"]))
    page = client.get("/records").text
    assert "Drain cover loose" in page
    (action,) = re.findall(r'action="(/follow-ups/[^"]+)"', page)
    client.post(action, data={"by": "Office", "outcome": "screwed on"})
    assert "Nothing waits" in client.get("/records").text


def test_what_was_set_aside_is_dismissed_on_the_page(client: TestClient) -> None:
    """It is shown word for word, escaped."""
    client.post("/api/records", json={"id": "<script>", "note": "x"})
    page = client.get("/records").text
    assert "<script>x" not in page
    (action,) = re.findall(r'action="(/records-aside/\w+/dismiss)"', page)
    client.post(action, data={"by": "Office", "why": "a test"})
    assert "Everything that was sent is kept" in client.get("/records").text


def test_a_target_is_set_on_the_page(client: TestClient) -> None:
    """Its source then is who set it, and 'as delivered' brings the printed one back."""
    own = {"least": "7.2", "ideal_low": "7.3", "ideal_high": "7.5", "most": "7.8", "by": "Office"}
    client.post("/water/targets/ph", data={**own, "version": "*"})
    assert "own target, set by Office" in client.get("/water").text
    client.post("/water/targets/ph", data={"reset": "yes", "version": "*"})
    assert "own target" not in client.get("/water").text


def test_a_load_page_warns_where_it_is_too_much(client: TestClient) -> None:
    """180 kg of liquid chlorine at each visit is above 200 kg gross for two stops."""
    added = [{"product": "liquid-chlorine", "amount": 180, "unit": "kg"}]
    for number, site in enumerate(("S1", "S2"), start=1):
        client.post("/api/records", json=content(number, site_id=site, products=added))
    days = [f"2026-{day}" for day in ("11-30", "12-03", "12-04")]
    pages = [client.get(f"/load/T1/{day}").text for day in days]
    assert any("Too much." in page for page in pages)
    loads = [client.get(f"/api/technicians/T1/days/{day}/load").json() for day in days]
    limits = {one["limit"] for load in loads for one in load["violations"]}
    assert "total" in limits
    assert any("Too much on the truck." in client.get(f"/day/T1/{day}").text for day in days)
    assert any("planned with 0 kg of regulated chemicals" in page for page in pages)
    assert any(f"/load/T1/{day}" in client.get(f"/day/T1/{day}").text for day in days)


def test_sites_link_to_their_pages(client: TestClient) -> None:
    """From the list, the week and the day."""
    assert 'href="/sites/S1"' in client.get("/sites").text
    assert 'href="/sites/S1"' in client.get("/week/2026-W49").text
