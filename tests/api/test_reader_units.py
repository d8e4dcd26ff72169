"""Every page and every list for a reader of US units, and for one of metric units."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

import pytest
from fastapi import FastAPI

from api.known_routes import routes_of
from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.day_publish import publish_day
from dispatch.actions.one_off_work import add_one_off
from dispatch.actions.plan_week import plan_week
from dispatch.actions.take_in import take_in_record
from dispatch.one_offs import OneOff
from dispatch.people import Measures, Person, Role
from dispatch.service_plan import VisitKind
from tests.api.test_rights import ENDLESS, FULL_PLACES, QUERIES
from tests.records.samples import full_content
from tests.signed_in import signed_in_client
from tests.town import MONDAY, TODAY, WEEK, Company, build_town, fill_book, open_company

NUMBER = r"(?<![\w.,])-?\d[\d,]*(?:\.\d+)?\s?"
METRIC = re.compile(NUMBER + r"(kg|g|kPa|l|ml|km|m|m³|°C|L/min)(?![\w/²³°])")
CUSTOMARY = re.compile(NUMBER + r"(lb|oz|psi|gal|qt|fl oz|mi|ft|°F|gpm)(?![\w/²³°])")
PATHS = {"/new-customer": "/new-customer?name=N&address=2 ab street&rhythm=weekly&service_min=30"}
# Answers that hold no sentence of the company's: what they take would be for nothing.
BARE = re.compile(r"/calendar/|/api/openapi|/metrics|.*\.(pdf|zip|xlsx|gpx|ics|js)$")
PLACES = FULL_PLACES | {"work_id": "J1", "noun": "sites", "kind": "backwash", "name": "improve"}
# Said in both systems, whoever reads: a dose as both jugs have it, rules as they are printed, the
# slip of unit behind a reading, and where words come from.
BOTH = (
    r"The same is [\d.,]+ [\w ]+?\.",
    r"At most one quart for each 10,000 gal \(1 l for 40,000 l\)",
    r"\+8 to \+10 psi|charge \(a\) 1 lb per 10 ft2",
    r"If it was read in \S+, say so: .*? is [\d.,]+ \S+\.",
)
HEAVY_TECHNICIANS = """\
id,name,start_lat,start_lon,mon,tue,wed,thu,fri,payload_kg,chemicals_most_kg
T1,Invented Alma,0,0.0005,07:00-15:30,07:00-15:30,,07:00-15:30,07:00-15:30,600,20
T2,Invented Ben,-0.0009,0.006,07:00-15:30,07:00-15:30,07:00-15:30,07:00-15:30,07:00-15:30,,
"""
# S2's filter is due for a backwash, S4's visit is too heavy for all, S5 lies far off the streets.
SITES = """\
id,name,address,lat,lon,rhythm,service_min,allowed_weekdays,usual_technician,chemicals_kg,\
pool_volume_l,sanitizer,filter,media_changed_on,media_mass_kg,filter_clean_kpa,filter_clean_on,\
filter_rise_kpa
S2,Invented Two,,0,0.002,weekly,45,Mon,T1,8,40000,chlorine,sand,2021-06-01,136,124,2026-11-02,55
S4,Invented Four,,0,0.003,weekly,30,Mon-Fri,T1,150,40000,chlorine,,,,,,
S5,Invented Five,,0.02,0.02,weekly,30,Mon-Fri,T1,,40000,chlorine,,,,,,
"""
ODD_RECORD = full_content() | {
    "readings": [
        {"kind": "free-chlorine", "value": 1, "unit": "ppm", "method": "drops"},
        {"kind": "ph", "value": 7.9},
        {"kind": "total-alkalinity", "value": 60},
        {"kind": "cyanuric-acid", "value": 140},
        {"kind": "water-temperature", "value": 1},
        {"kind": "filter-pressure", "value": 300},
        {"kind": "flow", "value": 20},
    ],
    "products": [{"product": "bleach", "amount": 30, "unit": "gal", "strength": 125}],
}


class Seen(HTMLParser):
    """What a reader sees of a page: its text, and what is said in attributes."""

    SAID = ("aria-label", "title", "placeholder", "alt")
    HIDDEN = frozenset({"script", "style", "code", "pre", "textarea"})  # names, and as typed

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what the attributes say."""
        self._hidden += tag in self.HIDDEN
        self.texts += [value for name, value in attrs if name in self.SAID and value]

    def handle_endtag(self, tag: str) -> None:
        """Come out of a script."""
        self._hidden -= tag in self.HIDDEN

    def handle_data(self, data: str) -> None:
        """Keep what is to be seen."""
        if not self._hidden:
            self.texts.append(data)


@pytest.fixture(scope="module")
def company(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Company]:
    """A company in which much weighs, presses, flows or lies far off."""
    folder = tmp_path_factory.mktemp("units")
    made = open_company(folder)
    build_town(made, folder)
    fill_book(made)
    with made.writing() as session:
        import_technicians(session, made.settings, HEAVY_TECHNICIANS)
        import_sites(session, made.settings, SITES)
        last = WEEK.days[4]
        heavy = OneOff("J1", "S1", "Lift it", VisitKind.ONE_OFF, MONDAY, last, (20,), mass_kg=700)
        add_one_off(session, heavy)
    plan_week(made.engine, made.settings, WEEK, today=TODAY, iterations=100)
    with made.writing() as session:
        publish_day(session, made.settings, MONDAY, who="Desk", at=made.settings.now())
        taken = take_in_record(session, made.settings, ODD_RECORD)
        assert taken.error is None, taken.error
    yield made
    made.engine.dispose()


def seen_by(company: Company, measures: Measures) -> dict[str, list[str]]:
    """What each page and each answer in text says to a reader of these units."""
    reader = Person("reader", "Invented Reader", Role.OWNER, units=measures)
    found: dict[str, list[str]] = {}
    with signed_in_client(company.settings, reader) as client:
        assert isinstance(client.app, FastAPI)
        for route in routes_of(client.app):
            if route.method != "GET" or route.key in ENDLESS or BARE.match(route.path):
                continue
            path = PATHS.get(route.path) or re.sub(
                r"\{(\w+)(:\w+)?\}", lambda one: PLACES.get(one[1], "x"), route.path
            )
            answer = client.get(path + QUERIES.get(route.key, ""), follow_redirects=False)
            kind = answer.headers.get("content-type", "")
            if kind.startswith("text/html"):
                page = Seen()
                page.feed(answer.text)
                found[path] = page.texts
            assert "\u2063" not in answer.text, f"{path}: an amount that nobody wrote"
        phone = client.get(f"/api/phone/T1/{MONDAY}").json()
        found["phone"] = list(texts_in(phone))
    return found


def texts_in(value: Any) -> Iterator[str]:
    """Every text of a JSON answer that is read by people: those with a blank in them."""
    if isinstance(value, str) and " " in value:
        yield value
    elif isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            yield from texts_in(one)


def amounts_in(seen: dict[str, list[str]], unit: re.Pattern[str]) -> list[str]:
    """Each place where an amount in such a unit is to be seen, but for what is said in both."""
    found = []
    for path, texts in seen.items():
        for text in texts:
            rest = re.sub("|".join(BOTH), "", text)
            found += [
                f"{path}: '{one[0]}' in '{rest[max(0, one.start() - 60) : one.end() + 30]}'"
                for one in unit.finditer(rest)
            ]
    return found


@pytest.mark.sqlite_only
def test_a_reader_of_us_units_meets_no_metric_amount(company: Company) -> None:
    """A reason stored with a plan, a flag of a record and a form are read by him as well."""
    seen = seen_by(company, Measures.CUSTOMARY)
    assert amounts_in(seen, METRIC) == []
    assert says(seen, f"/week/{WEEK}", "1,543 lb on the truck", "1.6 mi from the nearest street")
    assert says(seen, "/records", "44 psi is outside the usual", "33.8 °F is outside")
    assert says(seen, f"/load/T1/{MONDAY}", "44 lb is allowed on this truck", "66 lb, or 7.9 gal")


@pytest.mark.sqlite_only
def test_a_reader_of_metric_units_meets_no_us_amount(company: Company) -> None:
    """Nor does one of metric units have to know what a pound is."""
    seen = seen_by(company, Measures.METRIC)
    assert amounts_in(seen, CUSTOMARY) == []
    assert says(seen, f"/week/{WEEK}", "700 kg on the truck", "2.6 km from the nearest street")
    assert says(seen, "/records", "300 kPa is outside the usual", "1 °C is outside")
    assert says(seen, f"/load/T1/{MONDAY}", "20 kg is allowed on this truck", "30 kg, or 30 l")


def says(seen: dict[str, list[str]], path: str, *sentences: str) -> bool:
    """Whether a page says all of these, so that none is empty of amounts."""
    return all(one in " ".join(seen[path]) for one in sentences)
