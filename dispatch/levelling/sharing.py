"""Who does a job that several technicians may do: settled before the weeks are.

The usual technician does whatever he or she is able to do. All else goes to the able technician
whose customers are nearest and whose weeks are not too full, in the order in which jobs fall due;
minutes alone would send people across town.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from dispatch.levelling.values import Job, Room
from dispatch.places import Place, straight_line_m
from dispatch.sites import Site
from dispatch.technicians import Technician

FULL = 0.6  # of all room of the horizon, above which work goes to somebody farther off


def share_out(
    jobs: Sequence[Job],
    rooms: Sequence[Room],
    sites: Mapping[str, Site],
    technicians: Sequence[Technician],
) -> tuple[Job, ...]:
    """The same jobs, each with one technician, or with none where nobody is able."""
    room: dict[str, int] = defaultdict(int)
    for one in rooms:
        room[one.technician_id] += one.room_min
    taken: dict[str, int] = defaultdict(int)
    for job in jobs:
        if len(job.technician_ids) == 1:
            taken[job.technician_ids[0]] += job.minutes
    centres = _centres(sites, technicians)
    shared = [n for n, job in enumerate(jobs) if len(job.technician_ids) > 1]
    settled = list(jobs)
    for n in sorted(shared, key=lambda n: (jobs[n].due_on, jobs[n].id)):
        job = jobs[n]
        place = sites[job.site_id].place

        def rank(one: str, job: Job = job, place: Place = place) -> tuple[float, float, str]:
            filled = (taken[one] + job.minutes) / max(1, room[one])
            return max(0.0, filled - FULL), straight_line_m(centres[one], place), one

        chosen = min(job.technician_ids, key=rank)
        taken[chosen] += job.minutes
        settled[n] = replace(job, technician_ids=(chosen,))
    return tuple(settled)


def _centres(sites: Mapping[str, Site], technicians: Sequence[Technician]) -> dict[str, Place]:
    """The middle of each technician's usual customers; the depot where there are none."""
    places: dict[str, list[Place]] = defaultdict(list)
    for site in sites.values():
        if site.plan.usual_technician_id is not None:
            places[site.plan.usual_technician_id].append(site.place)
    return {one.id: _middle(places[one.id]) if places[one.id] else one.start for one in technicians}


def _middle(places: Sequence[Place]) -> Place:
    lat = sum(place.lat for place in places) / len(places)
    return Place(lat, sum(place.lon for place in places) / len(places))
