"""A shift past midnight on the pages, and over the API that phones pull their day from."""

from __future__ import annotations

import pytest

from dispatch.day.events import EventKind
from dispatch.people import Person
from tests.night_town import S1, at, tell
from tests.signed_in import ALMA, DISPATCHER, signed_in_client
from tests.town import MONDAY, TUESDAY, Company

pytestmark = pytest.mark.sqlite_only  # the company is copied as a file

CODE = "#22"  # of S2, served after midnight


def texts(company: Company, clock: str, person: Person, *addresses: str) -> list[str]:
    """What a person reads at these addresses at a moment of Monday's working day."""
    with signed_in_client(at(company, clock), person) as client:
        return [client.get(address).text for address in addresses]


def test_the_phone_keeps_monday_and_its_codes_until_the_night_is_over(night: Company) -> None:
    """Whoever stands at a gate at half past midnight needs its code; the next evening nobody."""
    tell(night, EventKind.SHIFT_STARTED, "20:05")
    here, sheet = "/api/phone/days/T1", f"/day/T1/{MONDAY}"
    with signed_in_client(at(night, "00:30 (+1)"), ALMA) as client:
        day = client.get(here).json()
        assert (day["day"], day["until_s"]) == (MONDAY.isoformat(), 93_600)
        assert day["over_s"] == 86_400 + 28_800  # if nobody ends it: Tuesday begins at 08:00
        assert CODE in client.get(here).text
        assert CODE in client.get(sheet).text
        tuesday = client.get(f"/day/T1/{TUESDAY}").text
        assert f'href="/day/T1/{MONDAY}"' in tuesday
    tell(night, EventKind.SHIFT_ENDED, "01:50 (+1)")
    with signed_in_client(at(night, "02:05 (+1)"), ALMA) as client:
        assert client.get(here).json()["day"] == TUESDAY.isoformat()
        assert CODE not in client.get(sheet).text


def test_the_office_is_led_from_tuesday_to_the_night_that_goes_on(night: Company) -> None:
    """Nobody must look for a technician on the board of the wrong day."""
    tell(night, EventKind.SHIFT_STARTED, "20:05")
    tell(night, EventKind.STARTED, "22:30", S1)
    addresses = (f"/day/{TUESDAY}", f"/day/{MONDAY}", "/technicians")
    tuesday, monday, people = texts(night, "00:20 (+1)", DISPATCHER, *addresses)
    assert "The night shift of T1 that began on" in tuesday
    assert 'value="00:20"' in monday  # the time from which somebody is out
    assert "20:00–02:00" in people  # noqa: RUF001 - as pages write a span
    later = texts(night, "13:00 (+1)", DISPATCHER, addresses[0])[0]
    assert "The night shift" not in later


def test_the_header_leads_to_the_working_day_that_goes_on(night: Company) -> None:
    """At one o'clock within Monday's shift nobody's day is Tuesday; at noon everybody's is."""
    tell(night, EventKind.SHIFT_STARTED, "20:05")
    for clock, day in (("01:00 (+1)", MONDAY), ("12:05 (+1)", TUESDAY)):
        for person, address in ((DISPATCHER, f"/day/{day}"), (ALMA, f"/day/T1/{day}")):
            with signed_in_client(at(night, clock), person) as client:
                header = client.get("/water").text
                assert 'href="/day"' in header
                led = client.get("/day", follow_redirects=False)
                assert (led.status_code, led.headers["location"]) == (307, address)


def test_a_form_filled_in_after_midnight_means_the_night(night: Company) -> None:
    """00:35 of Monday's shift is Tuesday's date, a day later than 00:35 of Monday."""
    form = {
        "id": "0b6f6f0e-8f5b-4a53-9d0e-5d2a5f7f2c11",
        "technician_id": "T1",
        "day": MONDAY.isoformat(),
        "visit_id": "S2/2026-W49/1",
        "arrived": "00:35",
        "left": "01:15",
    }
    with signed_in_client(at(night, "01:20 (+1)")) as client:
        answer = client.post("/sites/S2/record", data=form, follow_redirects=False)
        assert answer.status_code == 303, answer.text
        (kept,) = client.get("/api/records?site=S2").json()
    assert kept["record"]["arrived_at"] == "2026-12-01T05:35:00Z"  # EST is UTC-5
    assert kept["flags"] == []
