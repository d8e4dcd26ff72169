"""Street maps from the internet, by OSMnx: a place or a box, from an Overpass service.

OSMnx asks and keeps the raw answers; they are written as an extract, so that what is downloaded
goes through the same reading as a file, with turn rules, barriers, addresses and surfaces.
"""

from __future__ import annotations

import json
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any
from urllib.parse import urljoin

from dispatch.drive.public import check_public
from dispatch.drive.tags import DRIVABLE, WALKED
from dispatch.errors import InvalidValue, MapError, NoStreets
from dispatch.words import _

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    Box = tuple[float, float, float, float]
    Elements = dict[tuple[str, int], dict[str, Any]]

STREETS = [
    f'["highway"~"^({"|".join(sorted(DRIVABLE - WALKED))})$"]',
    f'["highway"~"^({"|".join(sorted(WALKED))})$"][~"^motor(car|_vehicle)$"~"."]',
]
FEATURES: dict[str, bool | str | list[str]] = {
    "addr:housenumber": True,
    "addr:interpolation": True,
    "type": "restriction",
    "natural": ["water", "wood", "scrub"],
    "waterway": ["river", "canal", "stream"],
    "landuse": ["forest", "grass", "meadow", "cemetery"],
    "leisure": ["park", "garden", "golf_course"],
}
KINDS = ("node", "way", "relation")


def parse_box(text: str) -> Box:
    """Return south, west, north, east from 'S,W,N,E' in degrees.

    Raises
    ------
    InvalidValue
        When they are not four numbers, or the box is empty or not on the globe.
    """
    try:
        south, west, north, east = (float(word) for word in text.split(","))
    except ValueError:
        raise InvalidValue(
            _(
                "The box '{text}' is not four numbers. Write south, west, north and east in "
                "degrees: --bbox 33.40,-112.10,33.50,-111.95"
            ).format(text=text)
        ) from None
    if not (-90 <= south < north <= 90 and -180 <= west < east <= 180):
        raise InvalidValue(
            _(
                "The box '{text}' is empty or not on the globe. Write south, west, north and "
                "east in degrees, in this order: --bbox 33.40,-112.10,33.50,-111.95"
            ).format(text=text)
        )
    return south, west, north, east


def download_extract(
    area: str | Box,
    folder: Path,
    overpass_url: str | None = None,
    nominatim_url: str | None = None,
    progress: Callable[[str], None] = lambda _: None,
    *,
    public_only: bool = False,
) -> Path:
    """Download the streets, turn rules, addresses and surfaces of an area; return the file.

    Parameters
    ----------
    area
        The name of a place with an outline on the map, or south, west, north, east in degrees.
    folder
        Where the answers and the file are put.
    overpass_url, nominatim_url
        Services to ask; OSMnx's own when None.
    progress
        Called with a few words before each request.
    public_only
        Whether a redirect to an address that is not public is refused.

    Raises
    ------
    MapError
        When a service cannot be reached, does not answer as it should, or leads elsewhere.
    NoStreets
        When the area has no street.
    """
    services = (overpass_url, nominatim_url)
    with _osmnx_keeping_answers(folder / "answers", *services, public_only=public_only) as osmnx:
        polygon = _outline(osmnx, area, progress)
        progress(_("Asking for streets"))
        _ask(
            lambda: osmnx.graph_from_polygon(
                polygon, simplify=False, retain_all=True, custom_filter=STREETS
            )
        )
        progress(_("Asking for turn rules, addresses and surfaces"))
        _ask(lambda: osmnx.features_from_polygon(polygon, FEATURES))
    elements = _elements(folder / "answers")
    if not any(kind == "way" for kind, _ in elements):
        raise NoStreets(_("There is no street in {area}. Choose a larger area.").format(area=area))
    file = folder / "downloaded.osm.pbf"
    _write(elements, file)
    return file


@contextmanager
def _osmnx_keeping_answers(
    folder: Path, overpass_url: str | None, nominatim_url: str | None, *, public_only: bool
) -> Iterator[Any]:
    """OSMnx, set to ask and to keep what it is told; its settings are as before afterwards."""
    import osmnx

    given = {
        "cache_folder": folder,
        "use_cache": True,
        "cache_only_mode": True,
        "overpass_url": overpass_url,
        "nominatim_url": nominatim_url,
        "requests_kwargs": {"hooks": {"response": _check_redirect}} if public_only else None,
    }
    wanted = {name: value for name, value in given.items() if value is not None}
    before = {name: getattr(osmnx.settings, name) for name in wanted}
    try:
        for name, value in wanted.items():
            setattr(osmnx.settings, name, value)
        yield osmnx
    finally:
        for name, value in before.items():
            setattr(osmnx.settings, name, value)


def _check_redirect(answer: Any, **_more: Any) -> None:
    """Look at where an answer leads, before it is followed (a response hook of Requests)."""
    if answer.is_redirect:
        check_public(urljoin(answer.url, answer.headers["location"]))


def _outline(osmnx: Any, area: str | Box, progress: Callable[[str], None]) -> Any:
    if not isinstance(area, str):
        south, west, north, east = area
        return osmnx.utils_geo.bbox_to_poly((west, south, east, north))
    progress(_("Looking for {area}").format(area=area))
    try:
        return osmnx.geocode_to_gdf(area).union_all()
    except Exception as error:
        raise MapError(
            _(
                "The outline of '{area}' was not found ({error}). Write the place as 'Town, "
                "State', give a box with --bbox S,W,N,E, or build the map from a file."
            ).format(area=area, error=_words(error))
        ) from error


def _ask(request: Callable[[], Any]) -> None:
    """Let OSMnx ask; it stops by itself once the answers are kept."""
    from osmnx._errors import CacheOnlyInterruptError

    try:
        request()
    except CacheOnlyInterruptError:
        return
    except Exception as error:  # whatever the connection, the service and OSMnx make of it
        raise MapError(
            _(
                "The streets could not be downloaded ({error}). Check the connection to the "
                "internet, try again later, or build the map from a file: dispatch map build "
                "FILE.osm.pbf"
            ).format(error=_words(error))
        ) from error


def _words(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"[:300]


def _elements(folder: Path) -> Elements:
    """Return everything in the answers once, by kind and number; tags of the fullest answer."""
    elements: Elements = {}
    for file in sorted(folder.glob("*.json")):
        answer = json.loads(file.read_text(encoding="utf-8"))
        for element in answer.get("elements", ()) if isinstance(answer, dict) else ():
            key = (element["type"], element["id"])
            if len(element) >= len(elements.get(key, ())):
                elements[key] = element
    return elements


def _write(elements: Elements, file: Path) -> None:
    """Write nodes, ways and relations in the usual order."""
    import osmium
    from osmium.osm import mutable

    with osmium.SimpleWriter(str(file), overwrite=True) as writer:
        for (kind, number), element in sorted(
            elements.items(), key=lambda item: (KINDS.index(item[0][0]), item[0][1])
        ):
            tags = element.get("tags", {})
            if kind == "node":
                place = (element["lon"], element["lat"])
                writer.add_node(mutable.Node(id=number, location=place, tags=tags, version=1))
            elif kind == "way":
                nodes = element["nodes"]
                writer.add_way(mutable.Way(id=number, nodes=nodes, tags=tags, version=1))
            else:
                members = [(m["type"][0], m["ref"], m["role"]) for m in element["members"]]
                writer.add_relation(
                    mutable.Relation(id=number, members=members, tags=tags, version=1)
                )
