"""Every page in a made-up language: what a reader still sees in English was never marked."""

from __future__ import annotations

import re
from io import BytesIO

from fastapi import FastAPI
from pypdf import PdfReader
from sqlalchemy import Engine, inspect, text

from api.errors import STATUS
from api.known_routes import routes_of
from tests.pseudo import Seen, outside_brackets, pseudo_language
from tests.signed_in import OWNER, signed_in_client
from tests.town import MONDAY, Company

PLACES = {  # what stands in the path of a page; where nothing fits, its error is looked at
    "week": "2026-W49",
    "day": "2026-11-30",
    "technician_id": "T1",
    "site_id": "S1",
    "kind": "sand-change",
    "name": "even-out",
    "noun": "sites",
}
# What is the same in all languages: names of the product, of formats and of codes, unit symbols,
# the credit that a licence asks for, and what people type into cells as the tables have it.
NAMES = {"Pool dispatch", "CSV", "GPX", "PDF", "XLSX", "OpenStreetMap contributors", "drawn.osm"}
NAMES |= {*STATUS, "bad-request", "not-found", "too-large", "pH", "ANSI/APSP/ICC-11", "months"}
UNITS = {"km", "kg", "lb", "mi", "min", "ppm", "psi", "kPa", "rpm", "gal", "gpm", "GB", "L", "A"}
CELLS = {"all", "DE", "share"}
WORD = re.compile(r"[A-Za-z]{2,}")
BADGE = re.compile(r"[A-Z]{2}")  # the letters of a technician


def test_every_page_is_said_in_the_readers_language(planned: Company) -> None:
    """A sentence without its mark stays English for everybody, and nobody notices in English."""
    english = []
    with (
        pseudo_language() as code,
        signed_in_client(planned.settings, OWNER, raises=False) as client,
    ):
        data = _data_of(planned.engine)
        client.headers["Accept-Language"] = code
        app = client.app
        assert isinstance(app, FastAPI)
        for path in _page_paths(app):
            answer = client.get(path)
            if answer.headers.get("content-type", "").startswith("text/html"):
                assert f'<html lang="{code}">' in answer.text, path
                english += [f"{path}: {words}" for words in _english_in(answer.text, data)]
    assert english == []


def _page_paths(app: FastAPI) -> list[str]:
    """Every page there is, taken from the routes."""
    return [
        re.sub(r"\{(\w+)(:\w+)?\}", lambda found: PLACES.get(found[1], "x"), route.path)
        for route in routes_of(app)
        if route.method == "GET" and not route.path.startswith(("/api/", "/static"))
    ]


def _data_of(engine: Engine) -> list[str]:
    """Every text in the database, the longest first."""
    found = set[str]()
    with engine.connect() as connection:
        for table in inspect(engine).get_table_names():
            for row in connection.execute(text(f'SELECT * FROM "{table}"')):  # noqa: S608 - ours
                found |= {value for value in row if isinstance(value, str) and len(value) > 1}
    return sorted(found, key=len, reverse=True)


def _english_in(page: str, data: list[str]) -> list[str]:
    """Words outside brackets that are neither the company's data nor the same everywhere."""
    seen = Seen()
    seen.feed(page)
    assert seen.depth == 0, "a sentence is cut by a tag that ends outside it"
    return [
        f"'{' '.join(words)}' in '{said.strip()[:80]}'"
        for said in seen.outside
        if (words := _words_outside(said, data))
    ]


def _words_outside(said: str, data: list[str]) -> list[str]:
    """Words that are neither the company's data nor the same everywhere."""
    for known in (*NAMES, *data):
        said = said.replace(known, " ")
    return [
        word for word in WORD.findall(said) if not (word in UNITS | CELLS or BADGE.fullmatch(word))
    ]


def test_the_paper_of_a_day_is_said_in_the_readers_language(planned: Company) -> None:
    """Whoever prints it reads the language of whoever looks at the page."""
    with (
        pseudo_language() as code,
        signed_in_client(planned.settings, OWNER, raises=False) as client,
    ):
        client.headers["Accept-Language"] = code
        answer = client.get(f"/api/technicians/T1/days/{MONDAY}/sheet.pdf")
    paper = "\n".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)
    assert "Báck⟧" in paper
    assert _words_outside(outside_brackets(paper)[0], _data_of(planned.engine)) == []
