from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree as ET
from zipfile import ZipFile

import icalendar
import pytest
from openpyxl import load_workbook
from pypdf import PdfReader
from starlette.testclient import TestClient

from dispatch.actions import day as actions
from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.holds import add_hold
from dispatch.sites import Hold
from dispatch.store.book import read_some_sites, write_sites
from tests.signed_in import ALMA, signed_in_client
from tests.town import MONDAY, WEEK, Company, open_company

GPX = "{http://www.topografix.com/GPX/1/1}"
AT = datetime(2026, 11, 25, 18, tzinfo=UTC)
T1 = "/api/technicians/T1"


@pytest.fixture
def zoned(planned: Company, tmp_path: Path) -> Iterator[TestClient]:
    """The service of a company in Phoenix whose week is published; no summer time there."""
    company = open_company(tmp_path, time_zone="America/Phoenix")
    with company.writing() as session:
        actions.publish_week(session, company.settings, WEEK, who="Invented Desk", at=AT)
    with signed_in_client(company.settings, raises=False) as client:
        yield client
    company.engine.dispose()


def test_the_calendar_is_read_by_a_strict_reader(zoned: TestClient) -> None:
    """S1 and S2 on Monday; the first begins at 07:00, when the shift does, Phoenix time."""
    text = zoned.get(f"{T1}/calendar.ics").text
    calendar = icalendar.Calendar.from_ical(text)

    events = calendar.walk("VEVENT")
    assert [str(one["SUMMARY"]) for one in events] == ["Invented One", "Invented Two"]
    assert all(not one.errors for one in calendar.walk())
    assert "DTSTART;TZID=America/Phoenix:20261130T0700" in text
    assert [str(one["TZID"]) for one in calendar.walk("VTIMEZONE")] == ["America/Phoenix"]
    assert len({str(one["UID"]) for one in events}) == 2


def test_the_calendar_holds_nothing_of_gate_and_dog(zoned: TestClient) -> None:
    """S1 has the code #11 and a left gate, S2 a loose dog; calendars are copied elsewhere."""
    text = zoned.get(f"{T1}/calendar.ics").text
    for secret in ("#11", "Left gate", "loose"):
        assert secret not in text


def test_an_address_opens_the_calendar_until_it_is_withdrawn(zoned: TestClient) -> None:
    """A phone that was lost must stop reading; a cut address says nothing."""
    address = zoned.post(f"{T1}/calendar-address").json()["address"]
    cookies = dict(zoned.cookies)
    zoned.cookies.clear()
    answer = zoned.get(address)
    assert answer.text.startswith("BEGIN:VCALENDAR")
    assert answer.headers["x-robots-tag"].startswith("noindex")
    assert zoned.get(address.replace(".ics", "x.ics")).status_code == 404

    zoned.cookies.update(cookies)
    zoned.delete(f"{T1}/calendar-address")

    assert zoned.get(address).status_code == 404


def test_links_that_lead_nowhere_are_counted(zoned: TestClient) -> None:
    """Twenty wrong ones from one address, then no more are looked at."""
    answers = [zoned.get(f"/calendar/wrong{n}.ics").status_code for n in range(22)]
    assert answers[:20] == [404] * 20
    assert answers[20:] == [429, 429]


def test_the_route_of_a_day_is_gpx_in_the_order_of_the_schema(zoned: TestClient) -> None:
    """metadata, rte, trk (GPX 1.1 schema); start, two gates, end; three legs of street line."""
    root = ET.fromstring(zoned.get(f"{T1}/days/{MONDAY}/route.gpx").content)  # noqa: S314 - our own

    assert (root.tag, root.get("version")) == (f"{GPX}gpx", "1.1")
    assert [one.tag.removeprefix(GPX) for one in root] == ["metadata", "rte", "trk"]
    points = root.findall(f"{GPX}rte/{GPX}rtept")
    names = [one.findtext(f"{GPX}name") for one in points]
    assert names == ["Start", "1 Invented One", "2 Invented Two", "End"]
    assert [float(one.get("lon", "")) for one in points] == [0.0005, 0.001, 0.002, 0.0005]
    assert len(root.findall(f"{GPX}trk/{GPX}trkseg")) == 3


def test_a_sign_that_steers_a_machine_spoils_no_file(planned: Company, zoned: TestClient) -> None:
    """Other programs part the lines of a cell by it; one such name must not keep all else in."""
    with planned.writing() as session:
        text = "id,name,rhythm,service_min\nS1,Invented\x0bOne,weekly,30\n"
        import_sites(session, planned.settings, text)
    files = zoned.get(f"/api/export.zip?week={WEEK}")
    assert files.status_code == 200
    with ZipFile(io.BytesIO(files.content)) as packed:
        names = [one for one in packed.namelist() if one.endswith((".gpx", ".ics", ".xlsx"))]
        made = {name: packed.read(name) for name in names}
    sheet = load_workbook(io.BytesIO(made.pop("everything.xlsx")))["sites"]
    assert sheet.cell(2, 2).value == "Invented One"
    tracks = [content for name, content in made.items() if name.endswith(".gpx")]
    assert any("1 Invented One" in ET.fromstring(one).itertext() for one in tracks)  # noqa: S314
    assert not any(b"\x0b" in content for content in made.values())


def test_files_of_a_technician_whose_id_is_in_another_script_are_given_out(
    planned: Company, zoned: TestClient
) -> None:
    """Letters of any script make an id; a header has ASCII alone and says the rest apart."""
    with planned.writing() as session:
        text = "id,name,start_lat,start_lon,mon\nZo\u03ad,Invented Zoe,0,0.0005,07:00-15:00\n"
        import_technicians(session, planned.settings, text)
    answer = zoned.get("/api/technicians/Zo\u03ad/calendar.ics")
    assert answer.status_code == 200
    assert answer.headers["content-disposition"] == (
        "attachment; filename=\"Zo_.ics\"; filename*=UTF-8''Zo%CE%AD.ics"  # RFC 6266, section 5
    )
    loads = zoned.get(f"/api/technicians/Zo\u03ad/days/{MONDAY}/load.csv")
    assert "filename*=UTF-8''load-Zo%CE%AD" in loads.headers["content-disposition"]


def test_the_printed_sheet_has_gate_codes_only_when_asked(zoned: TestClient) -> None:
    """Paper lies about."""
    plain = PdfReader(io.BytesIO(zoned.get(f"{T1}/days/{MONDAY}/sheet.pdf").content))
    text = "".join(page.extract_text() for page in plain.pages)
    for words in ("Invented One", "07:00", "Left gate", "loose", "Caution", "as published"):
        assert words in text
    assert "#11" not in text
    size = plain.pages[0].mediabox
    assert (float(size.width), float(size.height)) == (612, 792)  # points, US letter

    asked = zoned.get(f"{T1}/days/{MONDAY}/sheet.pdf?gate_codes=true").content
    pages = PdfReader(io.BytesIO(asked)).pages
    assert "#11" in "".join(page.extract_text() for page in pages)


def test_the_printed_sheet_says_what_the_page_does(planned: Company, zoned: TestClient) -> None:
    """It is for a day without a phone, and the equipment stands where nobody looks for it."""
    with planned.writing() as session:
        pool = read_some_sites(session, ["S1"])["S1"]
        write_sites(session, [replace(pool, pad_note="pad behind the shed")])
    pages = PdfReader(io.BytesIO(zoned.get(f"{T1}/days/{MONDAY}/sheet.pdf").content)).pages
    text = " ".join("".join(page.extract_text() for page in pages).split())
    assert "Equipment pad: pad behind the shed" in text


def test_the_printed_sheet_tells_of_a_hold(planned: Company, zoned: TestClient) -> None:
    """Whoever drives by paper must not stand at a gate that is kept shut."""
    with planned.writing() as session:
        add_hold(session, Hold("S1", MONDAY, MONDAY, "pool is painted"))
    pages = PdfReader(io.BytesIO(zoned.get(f"{T1}/days/{MONDAY}/sheet.pdf").content)).pages
    text = " ".join("".join(page.extract_text() for page in pages).split())
    assert "The customer has a hold from 2026-11-30 to 2026-11-30: ask the office" in text


def test_a_technician_gets_no_papers_of_another(planned: Company) -> None:
    """Alma is T1."""
    with signed_in_client(planned.settings, ALMA, raises=False) as client:
        assert client.get(f"/api/technicians/T2/days/{MONDAY}/sheet.pdf").status_code == 403
