"""The technicians' weeks: what is left of a shift once visits and driving are taken off."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.day_patterns import agreed_days
from dispatch.levelling.values import Room
from dispatch.sites import Hold, Site
from dispatch.technicians import Technician
from dispatch.turns import turn_comes

DRIVE_MIN_PER_STOP = 7.6  # minutes; 13 legs of 7 min for 12 stops (calc, an example of the trade)
USUAL_SLACK = 0.12  # of a shift kept free; planning to 85-90 % of it (common practice)


class Visits:
    """Which sites are visited in which week, and on which days each could be."""

    def __init__(
        self, sites: Sequence[Site], holds: Sequence[Hold], closed: frozenset[date]
    ) -> None:
        self._holds: dict[str, list[Hold]] = defaultdict(list)
        for hold in holds:
            self._holds[hold.site_id].append(hold)
        self._closed = closed
        self._days: dict[tuple[str, IsoWeek], tuple[date, ...]] = {}
        self.sites = sites

    def days(self, site: Site, week: IsoWeek) -> tuple[date, ...]:
        """Days of the week on which the site may be visited, the usual ones alone if open.

        Empty in a week without a turn, under a hold, or with every agreed day closed.
        """
        key = (site.id, week)
        if key not in self._days:
            self._days[key] = self._look(site, week)
        return self._days[key]

    def _look(self, site: Site, week: IsoWeek) -> tuple[date, ...]:
        if not turn_comes(site.plan, week):
            return ()
        held = self._holds.get(site.id, ())
        free = [
            day
            for day in agreed_days(site.plan, week)
            if day not in self._closed and not any(hold.covers(day) for hold in held)
        ]
        usual = tuple(day for day in free if day.weekday() in site.plan.usual_weekdays)
        return usual or tuple(free)


def rooms_of(
    technicians: Sequence[Technician],
    weeks: Sequence[IsoWeek],
    visits: Visits,
    closed: frozenset[date],
    drive_min: Mapping[str, float],
) -> tuple[Room, ...]:
    """Rooms by technician and week, technicians in their order.

    Parameters
    ----------
    technicians
        Who drives.
    weeks
        The horizon.
    visits
        The sites and their turns.
    closed
        Days on which the company is closed.
    drive_min
        Minutes of driving that come with one stop, by technician; `DRIVE_MIN_PER_STOP` where it
        is not known. The work of sites without a usual technician is shared by hours of shift.
    """
    rooms: list[Room] = []
    for week in weeks:
        stops, minutes = _usual_work(visits, week)
        shifts = {one.id: minutes_of_shifts(one, week, closed) for one in technicians}
        everybody = sum(shifts.values())
        for one in technicians:
            share = shifts[one.id] / everybody if everybody else 0.0
            visit = minutes[one.id] + share * minutes[None]
            count = stops[one.id] + share * stops[None]
            drive = count * drive_min.get(one.id, DRIVE_MIN_PER_STOP)
            days = _days_of(one, week, closed)
            rooms.append(
                Room(
                    technician_id=one.id,
                    week=week,
                    shift_min=shifts[one.id],
                    visit_min=round(visit),
                    drive_min=round(drive),
                    room_min=max(0, int((1 - slack_of(one)) * shifts[one.id] - visit - drive)),
                    days=days,
                    payload_kg=one.payload_kg,
                    crew=tuple(one.crew_on(day) for day in days),
                )
            )
    return tuple(sorted(rooms, key=lambda room: (room.technician_id, room.week)))


def slack_of(technician: Technician) -> float:
    """The share of a technician's shifts that is kept free."""
    return technician.slack_share or USUAL_SLACK


def _usual_work(
    visits: Visits, week: IsoWeek
) -> tuple[dict[str | None, float], dict[str | None, float]]:
    """Stops and minutes of service by usual technician; None for sites that have none."""
    stops: dict[str | None, float] = defaultdict(float)
    minutes: dict[str | None, float] = defaultdict(float)
    for site in visits.sites:
        days = visits.days(site, week)
        rhythm = site.plan.rhythm_in(week)
        if not days or rhythm is None:
            continue
        count = min(rhythm.visits_per_week, max(1, len(days)))
        stops[site.plan.usual_technician_id] += count
        minutes[site.plan.usual_technician_id] += count * site.plan.service_min_in(week)
    return stops, minutes


def _days_of(technician: Technician, week: IsoWeek, closed: frozenset[date]) -> tuple[date, ...]:
    return tuple(
        day for day in week.days if day not in closed and technician.shift_on(day) is not None
    )


def minutes_of_shifts(technician: Technician, week: IsoWeek, closed: frozenset[date]) -> int:
    """Minutes of the week's shifts without the meals, which are not paid and not worked."""
    meal = technician.meal.minutes if technician.meal else 0
    shifts = (technician.shift_on(day) for day in _days_of(technician, week, closed))
    return sum((shift.end_s - shift.start_s) // 60 - meal for shift in shifts if shift)
