"""A stand-in for the services that maps are downloaded from, on this machine."""

from __future__ import annotations

import json
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs
from xml.etree import ElementTree as ET

from tests.drive.drawing import Drawing

# What Overpass tells of its load: OSMnx looks for the first number of the fifth line.
STATUS = "Connected as: 1\nCurrent time: now\nAnnounced endpoint: none\nRate limit: 2\n2 slots"
OUTLINE = {
    "place_id": 1,
    "osm_type": "relation",
    "osm_id": 1,
    "boundingbox": ["-0.01", "0.01", "-0.01", "0.01"],
    "lat": "0",
    "lon": "0",
    "display_name": "Millbrook, an invented town",
    "class": "boundary",
    "type": "administrative",
    "importance": 0.5,
    "name": "Millbrook",
    "geojson": {
        "type": "Polygon",
        "coordinates": [[[-0.01, -0.01], [0.01, -0.01], [0.01, 0.01], [-0.01, -0.01]]],
    },
}


class StandIn:
    """Answers as Overpass and Nominatim do, about a drawn map; `asked` are the questions."""

    def __init__(self, drawing: Drawing, folder: Path) -> None:
        self.asked: list[str] = []
        self.broken = False
        self.elements = elements_of(drawing.write(folder))
        stand_in = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                stand_in.asked.append(self.path)
                if self.path.endswith("/status"):
                    self.answer(STATUS.encode())
                else:
                    self.answer(json.dumps([OUTLINE]).encode())

            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"])).decode()
                query = parse_qs(body)["data"][0]
                stand_in.asked.append(query)
                if stand_in.broken:
                    self.send_error(500, "out of order")
                    return
                kinds = {"way", "node"} if "highway" in query else {"node", "way", "relation"}
                found = [one for one in stand_in.elements if one["type"] in kinds]
                self.answer(json.dumps({"elements": found}).encode())

            def answer(self, body: bytes) -> None:
                self.send_response(200)
                self.send_header("Content-Type", "application/json")
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *words: object) -> None:
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server.server_address[1]}"


def elements_of(file: Path) -> list[dict[str, Any]]:
    """Return an OpenStreetMap file as Overpass would tell it."""
    elements = []
    for thing in ET.parse(file).getroot():  # noqa: S314 - our own file
        element: dict[str, Any] = {"type": thing.tag, "id": int(thing.attrib["id"])}
        element["tags"] = {tag.attrib["k"]: tag.attrib["v"] for tag in thing.iter("tag")}
        if thing.tag == "node":
            element |= {key: float(thing.attrib[key]) for key in ("lat", "lon")}
        elif thing.tag == "way":
            element["nodes"] = [int(node.attrib["ref"]) for node in thing.iter("nd")]
        else:
            element["members"] = [
                {"type": m.attrib["type"], "ref": int(m.attrib["ref"]), "role": m.attrib["role"]}
                for m in thing.iter("member")
            ]
        elements.append(element)
    return elements
