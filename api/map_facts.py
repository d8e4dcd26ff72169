"""What the street map in use holds, as the API and the page tell it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from dispatch.actions.maps import road_map
from dispatch.drive.graph import ROADS_FILE, MapSummary
from dispatch.places import Place, straight_line_m
from dispatch.settings import Settings


@dataclass(frozen=True, slots=True)
class MapFacts:
    """A map in numbers; `built_at` is in the company's time zone."""

    summary: MapSummary
    built_at: datetime

    @property
    def size_m(self) -> tuple[float, float]:
        """Metres from west to east through the middle, and from south to north."""
        south, west, north, east = self.summary.bounds
        middle = (south + north) / 2
        return (
            straight_line_m(Place(middle, west), Place(middle, east)),
            straight_line_m(Place(south, west), Place(north, west)),
        )


def map_facts(settings: Settings) -> MapFacts:
    """The facts of the map in use.

    Raises
    ------
    NoMap
        When none has been built yet.
    """
    summary = road_map(settings).summary
    zone = None if settings.time_zone is None else ZoneInfo(settings.time_zone)
    # a build puts a whole new file in place, so the file is as old as the map
    written_s = (settings.map_dir / ROADS_FILE).stat().st_mtime
    return MapFacts(summary, datetime.fromtimestamp(written_s, UTC).astimezone(zone))
