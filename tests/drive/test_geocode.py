"""Addresses from the map and, where set, from an online service."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from urllib.parse import parse_qs, urlparse

import pytest
from geopy.geocoders.base import Geocoder

from dispatch.drive.extract import Address
from dispatch.drive.geocode import ExtractGeocoder, find_place, online_geocoder, plain
from dispatch.drive.graph import RoadMap
from dispatch.errors import AddressNotFound, SettingsError
from tests.drive.drawing import roads

# Invented: Oak Street runs east, even numbers on one side, odd on the other.
OAK = [
    Address("Oak Street", "2", "Millbrook", "00002", 10.0, 20.00),
    Address("Oak Street", "10", "Millbrook", "00002", 10.0, 20.04),
    Address("Oak Street", "1", "Millbrook", "00002", 10.1, 20.00),
    Address("Oak Street", "9", "Millbrook", "00002", 10.1, 20.08),
    Address("Willow Creek Drive", "5", "Millbrook", "00002", 10.2, 20.0),
    Address("2nd Avenue", "5", "Millbrook", "00002", 10.3, 20.0),
    Address("County Road 12", "5", "Millbrook", "00002", 10.35, 20.0),
    Address("Elk Lane", "3", "Millbrook", "00002", 10.4, 20.0),
    Address("Main Street", "7", "Millbrook", "00002", 10.5, 20.0),
    Address("Main Street", "7", "Fairfield", "00003", 10.9, 20.0),
    Address("Rue de l'Église", "4 B", "", "", 10.6, 20.0),
]


@pytest.fixture
def geocoder() -> ExtractGeocoder:
    return ExtractGeocoder(OAK)


@pytest.mark.parametrize(
    ("words", "lat", "lon"),
    [
        ("2 Oak Street, Millbrook", 10.0, 20.0),
        ("2 oak st.", 10.0, 20.0),
        ("Oak Street 2", 10.0, 20.0),
        ("5 Willow Crek Drive", 10.2, 20.0),
        ("5 Wilow Creek Dr, Milbrook", 10.2, 20.0),
        ("5 Willow Creek Drive Apt 3, Millbrook", 10.2, 20.0),
        ("4b Rue de l'Eglise", 10.6, 20.0),
        ("4 Rue de l'Eglise", 10.6, 20.0),
        ("7 Main St, Fairfield", 10.9, 20.0),
        ("7 Main St, CA 00003", 10.9, 20.0),
    ],
)
def test_addresses_are_found_as_people_write_them(
    words: str, lat: float, lon: float, geocoder: ExtractGeocoder
) -> None:
    """Abbreviations, accents, units, either order and a slip of the pen."""
    found = geocoder.locate(words)
    assert (found.latitude, found.longitude) == (lat, lon)
    assert found.raw == {"interpolated": False}


def test_a_number_between_two_is_placed_between_them_on_its_side(
    geocoder: ExtractGeocoder,
) -> None:
    """4 is a quarter of the way from 2 to 10, 3 a quarter from 1 to 9 on the other side."""
    even, odd = geocoder.locate("4 Oak Street"), geocoder.locate("3 Oak Street")
    assert (even.latitude, even.longitude) == (10.0, pytest.approx(20.01))
    assert (odd.latitude, odd.longitude) == (10.1, pytest.approx(20.02))
    assert even.raw == {"interpolated": True}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("40 Oak Street", "beyond those the map knows in Oak Street: 1 to 10"),
        ("3 Elm Lane", "Streets of similar names: Elk Lane"),  # no slip of the pen: two names
        ("5 3rd Avenue", "Streets of similar names: 2nd Avenue"),
        ("5 County Road 13", "Streets of similar names: County Road 12"),
        ("7 Main Street", "2 places far apart (Fairfield, Millbrook). Add the town"),
        ("2 Oak Street, Fairfield", "known in Millbrook, not where"),
        ("Oak Street", "no address with a house number"),
        ("", "no address with a house number"),
    ],
)
def test_what_is_not_found_is_told_with_what_is_known(
    words: str, told: str, geocoder: ExtractGeocoder
) -> None:
    """A wrong place would send a technician to strangers; a refusal is put right in a minute."""
    with pytest.raises(AddressNotFound) as caught:
        geocoder.locate(words)
    assert told in str(caught.value)


def test_it_is_a_geopy_geocoder(geocoder: ExtractGeocoder) -> None:
    """Anything written for geopy's geocoders can use it."""
    assert isinstance(geocoder, Geocoder)
    assert geocoder.geocode("2 Oak Street").latitude == 10.0
    assert geocoder.geocode("2 Oak Street", exactly_one=False)[0].latitude == 10.0
    assert geocoder.geocode("99 Nowhere Road") is None


def test_abbreviations_and_accents_are_levelled() -> None:
    """Both sides of a comparison go through the same words."""
    assert plain("N. Église St") == plain("north eglise street")


def test_helsinki_addresses_lie_in_helsinki(helsinki: RoadMap) -> None:
    """House 10 of Mannerheimintie stands in the extract (© OpenStreetMap contributors)."""
    south, west, north, east = helsinki.summary.bounds
    place = find_place("Mannerheimintie 10, Helsinki", helsinki)
    assert south - 0.01 < place.lat < north + 0.01
    assert west - 0.01 < place.lon < east + 0.01


def test_a_map_without_house_numbers_says_so(tmp_path: Path) -> None:
    """Many extracts have streets only."""
    road_map = roads("a---b").road_map(tmp_path)
    with pytest.raises(AddressNotFound, match="has no house numbers"):
        find_place("1 Oak Street", road_map)


class Answers(BaseHTTPRequestHandler):
    """A stand-in for an online geocoder that knows one address."""

    def do_GET(self) -> None:
        words = parse_qs(urlparse(self.path).query).get("q", [""])[0]
        if "error" in words:
            self.send_error(503)
            return
        known = [{"lat": "10.25", "lon": "20.25", "display_name": words}]
        body = json.dumps(known if "Harbor" in words else []).encode()
        self.send_response(200)
        self.send_header("Content-Type", "application/json")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *args: object) -> None:
        """Keep the test's output clean."""


@pytest.fixture
def stand_in() -> Iterator[str]:
    server = HTTPServer(("127.0.0.1", 0), Answers)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


def test_an_online_service_is_asked_for_what_the_map_lacks(
    helsinki: RoadMap, stand_in: str
) -> None:
    """geopy's own client speaks to a server on this machine."""
    place = find_place(
        "1 Harbor Way", helsinki, "nominatim", domain=stand_in, scheme="http", may_be_private=True
    )
    assert (place.lat, place.lon) == (10.25, 20.25)


@pytest.mark.parametrize(
    ("words", "told"),
    [("1 Nowhere Road", "Neither the street map nor"), ("1 error Road", "did not answer")],
)
def test_an_online_service_that_knows_nothing_or_fails_is_told(
    words: str, told: str, helsinki: RoadMap, stand_in: str
) -> None:
    """Both are the same to the reader of an import report: give the coordinates."""
    with pytest.raises(AddressNotFound, match=told):
        find_place(
            words, helsinki, "nominatim", domain=stand_in, scheme="http", may_be_private=True
        )


def test_an_unknown_online_service_is_refused() -> None:
    """The setting names what there is."""
    with pytest.raises(SettingsError, match="'carrier pigeon' is no known online geocoder"):
        online_geocoder("carrier pigeon")
