"""Lay out a week for planning: the snapshot of the book in the order of ids."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import numpy as np

from dispatch.clock import DAY_S, IsoWeek
from dispatch.day_spacing import off_rhythm
from dispatch.drive.matrix import DriveMatrix
from dispatch.planning.plan import Unplaced
from dispatch.planning.problem import Cell, Demand, Hours, Prices, Problem, Supply
from dispatch.service_plan import Priority, VisitKind
from dispatch.sites import Site
from dispatch.technicians import Shift, Technician
from dispatch.upkeep import UpkeepDue
from dispatch.visits import VisitsDue
from dispatch.words import _

# What leaving a visit out costs, as a multiple of the usual price (our own choice).
IMPORTANCE = {Priority.HIGH: 2.0, Priority.NORMAL: 1.0, Priority.CAN_WAIT: 0.5}
CARRIES_UPKEEP = frozenset({VisitKind.REGULAR, VisitKind.FIRST})


def build_problem(
    week: IsoWeek,
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    due: Sequence[VisitsDue],
    upkeep: Sequence[UpkeepDue],
    matrix: DriveMatrix,
    *,
    closed_days: Collection[date] = (),
    no_drive: Mapping[str, str] | None = None,
    prices: Prices | None = None,
    visited: Mapping[str, date] | None = None,
) -> Problem:
    """Lay out a week for planning, in an order that depends on ids alone.

    Parameters
    ----------
    closed_days
        Days on which nobody works.
    no_drive
        Sentence by place id (`site:…`, `start:…`, `end:…`) for places without drive times.
    visited
        By site id, the day of the last regular visit before the week, where it is to matter:
        without agreed weekdays the next one keeps its distance from it.
    """
    no_drive = no_drive or {}
    row = {place_id: n for n, place_id in enumerate(matrix.ids)}
    by_id = {site.id: site for site in sites}
    ordered = sorted(due, key=lambda visits: visits.demand_id)
    reachable = [visits for visits in ordered if f"site:{visits.site_id}" in row]
    stranded = [visits for visits in ordered if f"site:{visits.site_id}" not in row]
    cells, off = _cells(week, technicians, row, frozenset(closed_days))
    carrying = [visits for visits in reachable if visits.kind in CARRIES_UPKEEP]
    candidates = _upkeep_by_site(upkeep, carrying, by_id)
    return Problem(
        week=week,
        cells=cells,
        demands=tuple(
            _demand(visits, by_id[visits.site_id], row, candidates, visited or {})
            for visits in reachable
        ),
        place_ids=matrix.ids,
        drive_s=matrix.drive_s.astype(np.int64),
        drive_m=matrix.drive_m.astype(np.int64),
        technicians_off=off,
        undrivable=tuple(
            Unplaced(visits.visit_id(n + 1), visits.site_id, _no_way(visits.site_id, no_drive))
            for visits in stranded
            for n in range(visits.count)
        ),
        stranded_upkeep=_stranded(week, upkeep, {one.site_id for one in carrying}, no_drive),
        prices=prices or Prices(),
        hours=_hours(technicians),
    )


def _stranded(
    week: IsoWeek,
    upkeep: Sequence[UpkeepDue],
    served: Collection[str],
    no_drive: Mapping[str, str],
) -> tuple[tuple[UpkeepDue, str], ...]:
    """Upkeep fallen due by the week's end at sites that no visit of the week can carry it to."""
    idle = _("The site has no visit this week that could carry it.")
    return tuple(
        (item, no_drive.get(f"site:{item.site_id}", idle))
        for item in sorted(upkeep, key=lambda one: one.id)
        if item.site_id not in served and item.due_on <= week.sunday
    )


def _no_way(site_id: str, no_drive: Mapping[str, str]) -> str:
    return no_drive.get(
        f"site:{site_id}",
        _("Site {site} has no drive times: build the street map that covers it.").format(
            site=site_id
        ),
    )


def _cells(
    week: IsoWeek,
    technicians: Sequence[Technician],
    row: Mapping[str, int],
    closed_days: frozenset[date],
) -> tuple[tuple[Cell, ...], tuple[tuple[str, date], ...]]:
    """Cells by technician id and day, and the (technician name, day) pairs without one."""
    cells: list[Cell] = []
    off: list[tuple[str, date]] = []
    for technician in sorted(technicians, key=lambda one: one.id):
        start, end = row.get(f"start:{technician.id}"), row.get(f"end:{technician.id}")
        for day in week.days:
            shift = None if day in closed_days else technician.shift_on(day)
            if shift is None or start is None or end is None:
                off.append((technician.name, day))
                continue
            cells.append(
                Cell(
                    technician_id=technician.id,
                    technician_name=technician.name,
                    day=day,
                    shift=shift,
                    start=start,
                    end=end,
                    skills=technician.skills,
                    payload_kg=technician.payload_kg,
                    meal=technician.meal,
                    **_rules_of(technician, shift, day, row),
                )
            )
    return tuple(cells), tuple(off)


def _rules_of(
    technician: Technician, shift: Shift, day: date, row: Mapping[str, int]
) -> dict[str, Any]:
    """Slack, overtime, crew and chemicals of a truck-day.

    A truck may be out for as long as the technician's longest day and the meal, less the slack,
    but not past midnight; after a night shift not beyond 24 hours, nor into the next shift.
    """
    long_s = shift.end_s - shift.start_s
    supply = row.get(f"supply:{technician.id}")
    rules: dict[str, Any] = {
        "slack_s": round(technician.slack_share * long_s),
        "crew": technician.crew_on(day),
        "chemicals_most_kg": technician.chemicals_most_kg,
    }
    if technician.overtime is not None:
        meal_min = technician.meal.minutes if technician.meal else 0
        most_s = 60 * (technician.overtime.day_most_min + meal_min)
        free_s = _free_until_s(technician, shift, day) - shift.end_s
        rules["overtime_s"] = max(0, min(most_s - long_s, free_s))
        rules["pay_factor"] = technician.overtime.pay_factor
    if technician.supply is not None and supply is not None:
        rules["supply"] = Supply(supply, 60 * technician.supply.minutes)
    return rules


def _free_until_s(technician: Technician, shift: Shift, day: date) -> int:
    """Until when a day may be lengthened, in its seconds."""
    if shift.end_s <= DAY_S:
        return DAY_S
    coming = technician.shift_on(day + timedelta(days=1))
    return DAY_S + (min(shift.start_s, coming.start_s) if coming else shift.start_s)


def _hours(technicians: Sequence[Technician]) -> tuple[Hours, ...]:
    """The rules of the weeks of those who may work overtime."""
    return tuple(
        Hours(
            technician.id,
            regular_s=60 * technician.overtime.week_regular_min,
            most_s=60 * technician.overtime.week_most_min,
            pay_factor=technician.overtime.pay_factor,
        )
        for technician in sorted(technicians, key=lambda one: one.id)
        if technician.overtime is not None
    )


def _demand(
    visits: VisitsDue,
    site: Site,
    row: Mapping[str, int],
    candidates: Mapping[str, tuple[UpkeepDue, ...]],
    visited: Mapping[str, date],
) -> Demand:
    shortest_s = 60 * min(visits.service_min)
    return Demand(
        site_id=site.id,
        visit_ids=tuple(visits.visit_id(n + 1) for n in range(visits.count)),
        place=row[f"site:{site.id}"],
        patterns=visits.patterns,
        service_s=shortest_s,
        extra_s=tuple(60 * minutes - shortest_s for minutes in visits.service_min),
        next_visit_on=_next_visit_on(visits, site),
        windows=visits.windows,
        skills=visits.skills,
        usual_technician_id=visits.usual_technician_id,
        technician_locked=visits.technician_locked,
        usual_weekdays=visits.usual_weekdays,
        off_rhythm=_off_rhythm(visits, site, visited),
        upkeep=candidates.get(visits.demand_id, ()) if visits.kind in CARRIES_UPKEEP else (),
        load_kg=visits.mass_kg + visits.chemicals_kg,
        chemicals_kg=visits.chemicals_kg,
        crew=visits.crew,
        unwanted_technician_ids=visits.unwanted_technician_ids,
        importance=IMPORTANCE[visits.priority],
    )


def _off_rhythm(
    visits: VisitsDue, site: Site, visited: Mapping[str, date]
) -> tuple[tuple[date, int], ...]:
    """Days off the rhythm of a site, in order; none where its weekdays are agreed."""
    rhythm, last = site.plan.rhythm_in(visits.week), visited.get(site.id)
    if visits.kind is not VisitKind.REGULAR or visits.usual_weekdays or not (rhythm and last):
        return ()
    far = off_rhythm(visits.patterns, last, rhythm.visits_per_week, rhythm.every_weeks)
    return tuple(sorted(far.items()))


def _next_visit_on(visits: VisitsDue, site: Site) -> date:
    ahead = timedelta(weeks=site.plan.rhythm.every_weeks)
    return visits.next_visit_on or visits.week.monday + ahead


def _upkeep_by_site(
    upkeep: Sequence[UpkeepDue], due: Sequence[VisitsDue], sites: Mapping[str, Site]
) -> dict[str, tuple[UpkeepDue, ...]]:
    """Upkeep that is due before the site's next visit; what may still wait does not take part."""
    next_visit = {visits.site_id: _next_visit_on(visits, sites[visits.site_id]) for visits in due}
    found: dict[str, tuple[UpkeepDue, ...]] = {}
    for item in sorted(upkeep, key=lambda one: one.id):
        if item.site_id in next_visit and item.wanted_on < next_visit[item.site_id]:
            found[item.site_id] = (*found.get(item.site_id, ()), item)
    return found
