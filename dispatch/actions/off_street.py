"""Places of the book where no truck can drive."""

from __future__ import annotations

from collections.abc import Collection

from sqlmodel import Session

from dispatch.actions.maps import places_of, road_map
from dispatch.errors import NoMap, UnreadableMap
from dispatch.measures import measured
from dispatch.settings import Settings
from dispatch.store.book import read_sites, read_technicians

SITES = ("site",)
DEPOTS = ("start", "end", "supply")


def off_street(
    session: Session, settings: Settings, kinds: Collection[str] = (*SITES, *DEPOTS)
) -> dict[str, str]:
    """By place id (`site:S1`, `start:T1`, `supply:T1`) the sentence why no truck can drive there.

    The end of a day that lies where the day starts is not told again. Empty while there is no
    street map that can be read; what is wrong with the map is said where the map is shown.

    Parameters
    ----------
    kinds
        What stands before the colon of the places to look at.
    """
    from dispatch.drive.snap import snap_all

    try:
        roads = road_map(settings)
    except (NoMap, UnreadableMap):
        return {}
    technicians = read_technicians(session)
    places = places_of(read_sites(session), technicians)
    for technician in technicians:
        if technician.end == technician.start:
            del places[f"end:{technician.id}"]
    asked = {name: place for name, place in places.items() if name.partition(":")[0] in kinds}
    return {name: measured(why) for name, why in snap_all(roads, asked)[1].items()}
