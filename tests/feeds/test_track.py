"""A day's route as GPX, read by the rules of its schema.

The rules are those of the GPX 1.1 schema, http://www.topografix.com/GPX/1/1/gpx.xsd: sequences of
elements, required attributes and simple types, written down here where they touch what we write.
"""

from __future__ import annotations

import re
from datetime import date, datetime
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings

from dispatch.actions.day_sheet import DaySheet, SheetStop
from dispatch.actions.paper_day import DayTrack
from dispatch.feeds.track import gpx_text
from dispatch.places import Place
from dispatch.planning.plan import Route, Stop
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.technicians import Shift, Technician
from tests.feeds.hostile import TEXTS
from tests.pools import every

NAMESPACE = "{http://www.topografix.com/GPX/1/1}"
GATE = Place(40.0, -74.0)
DAY = date(2026, 11, 1)  # clocks in New York go back at 02:00
POINT = (
    "ele time magvar geoidheight name cmt desc src link sym type fix sat hdop vdop pdop "
    "ageofdgpsdata dgpsid extensions"
)
SEQUENCES = {
    "gpx": "metadata wpt rte trk extensions",
    "metadata": "name desc author copyright link time keywords bounds extensions",
    "rte": "name cmt desc src link number type extensions rtept",
    "trk": "name cmt desc src link number type extensions trkseg",
    "trkseg": "trkpt extensions",
    "rtept": POINT,
    "trkpt": POINT,
}
MANY = {"wpt", "rte", "trk", "rtept", "trkseg", "trkpt", "link"}
DECIMAL = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)")
TIME = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d+)?Z")  # UTC, as the schema asks


def _check(element: ET.Element) -> None:
    """An element and all in it stand as the schema has them."""
    name = element.tag.removeprefix(NAMESPACE)
    parts = [one.tag.removeprefix(NAMESPACE) for one in element]
    order = SEQUENCES.get(name, "").split()
    assert set(parts) <= set(order), (name, parts)
    assert parts == sorted(parts, key=order.index), (name, parts)
    assert all(parts.count(one) == 1 or one in MANY for one in parts), (name, parts)
    if name in ("rtept", "trkpt"):
        lat, lon = element.get("lat", ""), element.get("lon", "")
        assert DECIMAL.fullmatch(lat), lat
        assert DECIMAL.fullmatch(lon), lon
        assert -90 <= float(lat) <= 90
        assert -180 <= float(lon) < 180  # longitudeType: maxExclusive
    if name == "time":
        assert TIME.fullmatch(element.text or ""), element.text
        datetime.fromisoformat(element.text or "")
    for one in element:
        _check(one)


def _track(name: str = "One", address: str = "", gate: Place = GATE) -> ET.Element:
    depot = Place(gate.lat, 0.0)
    technician = Technician("T1", name, (Shift(0, 86_400),) * 7, depot, depot)
    site = Site("S1", name, address, gate, every(1))
    stop = Stop("S1/1", "S1", 60, 60, 5400, 5400, 6000)
    route = Route("T1", DAY, (stop,), 5340, 6060, 120, 120, 600, 0, 60, 60)
    sheet = DaySheet(technician, DAY, route, (SheetStop(1, stop, site, ()),), (), 0.0)
    legs = (((0.0, gate.lat), (gate.lon, gate.lat)), ((gate.lon, gate.lat), (0.0, gate.lat)))
    settings = Settings(data_dir=Path(), time_zone="America/New_York")
    text = gpx_text(DayTrack(sheet, legs), settings)
    root = ET.fromstring(text)  # noqa: S314 - our own
    assert (root.tag, root.get("version")) == (f"{NAMESPACE}gpx", "1.1")
    assert root.get("creator")
    _check(root)
    return root


@hypothesis_settings(deadline=None, max_examples=60)
@given(name=TEXTS.filter(bool), address=TEXTS)
def test_whatever_a_customer_is_called_the_track_keeps_to_the_schema(
    name: str, address: str
) -> None:
    """Start, gate and end, whatever is written at the gate."""
    root = _track(name, address)
    names = [one.text for one in root.iterfind(f".//{NAMESPACE}rtept/{NAMESPACE}name")]
    assert names[0] == "Start"
    assert names[1] is not None
    assert names[1].startswith("1 ")
    assert names[2] == "End"


@pytest.mark.parametrize(
    "gate", [Place(0.00001, -0.00005), Place(1e-12, 1e-9), Place(90, 180), Place(-90, -180)]
)
def test_a_gate_at_the_edge_of_the_map_has_a_place_that_the_schema_knows(gate: Place) -> None:
    """No exponents; and 180 degrees east are written as 180 degrees west."""
    root = _track(gate=gate)
    (_start, point, _end) = root.iterfind(f".//{NAMESPACE}rtept")
    assert float(point.get("lat", "")) == pytest.approx(gate.lat, abs=1e-9)
    lon = -180.0 if gate.lon == 180 else gate.lon
    assert float(point.get("lon", "")) == pytest.approx(lon, abs=1e-9)
