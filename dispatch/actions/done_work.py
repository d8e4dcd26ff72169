"""What the stops of a week took: as recorded where there is a record, else as planned."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from dispatch.planning.plan import Route, Stop, WeekPlan
from dispatch.records.stays import stays_of
from dispatch.store.records import Attendance


@dataclass(frozen=True, slots=True)
class StopWork:
    """One visit: who made it, seconds at the pool (`upkeep_s` of them upkeep), and its way.

    `drive_s` and `drive_m` are the planned leg that leads to it and its share of the way home;
    arrivals and departures do not tell driving from a coffee. A visit that was recorded and not
    planned has no way of its own.
    """

    technician_id: str
    site_id: str
    visit_id: str | None
    service_s: int
    upkeep_s: int
    drive_s: int = 0
    drive_m: int = 0
    is_recorded: bool = False


def work_of(
    plan: WeekPlan, attended: Iterable[Attendance], upkeep_s: Mapping[str, int]
) -> list[StopWork]:
    """What each visit of a planned week took.

    A record counts for the stop of its visit, else for the stop of its site on its day, else for
    any stop of its site in the week; the work is then that of whoever recorded it. Stays that
    cannot be believed (see `records.stays`) leave the plan standing, and a visit recorded as
    skipped took no time at the pool and is left out.

    Parameters
    ----------
    plan
        The week as it was planned.
    attended
        The records of the same week.
    upkeep_s
        Planned seconds of upkeep by its id.
    """
    records = _Records(attended)
    stops = [(route, stop) for route in plan.routes for stop in route.stops]
    found = {id(stop): records.surest(route, stop) for route, stop in stops}
    work = []
    for route, stop in stops:
        one = found[id(stop)] or records.any_of_site(stop.site_id)
        if one is None or not one.skipped:
            work.append(_work(route, stop, one, upkeep_s))
    return work + [
        StopWork(one.technician_id, one.site_id, one.visit_id, seconds, 0, is_recorded=True)
        for one in records.left_over()
        if (seconds := _seconds(one))
    ]


class _Records:
    """The records of a week, each of which counts once."""

    def __init__(self, attended: Iterable[Attendance]) -> None:
        usable = [one for one in attended if one.skipped or _seconds(one)]
        self._left = {one.record_id: one for one in usable}
        self._by_visit: dict[str | None, list[Attendance]] = defaultdict(list)
        self._by_day: dict[tuple[str, date], list[Attendance]] = defaultdict(list)
        self._by_site: dict[str, list[Attendance]] = defaultdict(list)
        for one in usable:
            self._by_visit[one.visit_id].append(one)
            self._by_day[one.site_id, one.day].append(one)
            self._by_site[one.site_id].append(one)

    def surest(self, route: Route, stop: Stop) -> Attendance | None:
        """The record of the stop's visit, or of its site on its day."""
        return self._take(self._by_visit[stop.visit_id]) or self._take(
            [one for one in self._by_day[stop.site_id, route.day] if one.visit_id is None]
        )

    def any_of_site(self, site_id: str) -> Attendance | None:
        """A record of the site on another day."""
        return self._take([one for one in self._by_site[site_id] if one.visit_id is None])

    def left_over(self) -> Iterator[Attendance]:
        """The records of visits that nobody planned."""
        yield from self._left.values()

    def _take(self, wanted: list[Attendance]) -> Attendance | None:
        for one in wanted:
            if self._left.pop(one.record_id, None):
                return one
        return None


def _seconds(one: Attendance) -> int:
    stays, _ = stays_of([one])
    return round(60 * stays[0].minutes) if stays else 0


def _work(
    route: Route, stop: Stop, one: Attendance | None, upkeep_s: Mapping[str, int]
) -> StopWork:
    planned_s = stop.leave_s - stop.start_s
    service_s = planned_s if one is None else _seconds(one)
    home = max(1, len(route.stops))
    return StopWork(
        technician_id=route.technician_id if one is None else one.technician_id,
        site_id=stop.site_id,
        visit_id=stop.visit_id,
        service_s=service_s,
        upkeep_s=min(service_s, sum(upkeep_s.get(item, 0) for item in stop.upkeep_ids)),
        drive_s=stop.drive_s + route.return_drive_s // home,
        drive_m=stop.drive_m + route.return_drive_m // home,
        is_recorded=one is not None,
    )
