"""A day's route for navigators: GPX 1.1, the gates as a route and the streets as a track."""

from __future__ import annotations

from gpxpy import gpx

from dispatch.actions.paper_day import DayTrack
from dispatch.day.moments import clock_time, moment_of
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.texts import readable
from dispatch.words import _


def gpx_text(found: DayTrack, settings: Settings) -> str:
    """The route of a day as GPX 1.1, without gate codes and notes.

    `rte` has the start, every gate with the time at which service is to begin, and the end;
    `trk` has one segment of street line for each leg. Degrees are WGS 84, times UTC.
    """
    sheet = found.sheet
    route = sheet.route
    document = gpx.GPX()
    document.creator = "Pool dispatch"
    document.name = readable(f"{sheet.technician.name}, {sheet.day}")
    if route is None:
        return str(document.to_xml(version="1.1"))
    document.time = moment_of(sheet.day, route.start_s, settings.zone)
    line = gpx.GPXRoute(name=document.name)
    start, end = sheet.technician.start, sheet.technician.end
    line.points.append(_point(start, _("Start")))
    for row in sheet.stops:
        address, at_s = readable(row.site.address), row.stop.start_s
        gate = _point(row.site.place, readable(f"{row.number} {row.site.name}"))
        words = _("{address} at {start}").format(address=address, start=clock_time(sheet.day, at_s))
        gate.description = words.strip()
        gate.time = moment_of(sheet.day, at_s, settings.zone)
        line.points.append(gate)
    line.points.append(_point(end, _("End")))
    document.routes.append(line)
    document.tracks.append(_track(found, document.name))
    return str(document.to_xml(version="1.1"))


def _point(place: Place, name: str) -> gpx.GPXRoutePoint:
    return gpx.GPXRoutePoint(place.lat, _lon(place.lon), name=name)


def _lon(lon: float) -> float:
    """The longitude as the schema has it, where 180 degrees east are 180 degrees west."""
    return lon if lon < 180 else -180.0


def _track(found: DayTrack, name: str) -> gpx.GPXTrack:
    track = gpx.GPXTrack(name=name)
    for leg in found.legs:
        points = [gpx.GPXTrackPoint(lat, _lon(lon)) for lon, lat in leg]
        track.segments.append(gpx.GPXTrackSegment(points))
    return track
