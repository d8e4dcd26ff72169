"""A technician's whole route after a repair: what happened, then what is still to come."""

from __future__ import annotations

from collections.abc import Sequence

from dispatch.day.standing import Roads, Standing
from dispatch.day.work import Work
from dispatch.planning.plan import Route, Stop
from dispatch.planning.timetable import times_of


def route_of(
    standing: Standing, works: Sequence[Work], before: Route | None, roads: Roads
) -> Route:
    """The route of a technician who has `works` ahead, in this order.

    Stops that happened keep the times they were planned with; times of the others are those of
    the timetable, from where the truck is. Seconds of the day, metres.
    """
    cell = standing.cell
    times = times_of(cell, [roads.call_of(work) for work in works], roads.drive_s)
    ids = {one.work.visit_id for one in standing.happened}
    stops = [stop for stop in before.stops if stop.visit_id in ids] if before else []
    past = len(stops)
    here, supply = cell.start, (0, 0)
    for n, work in enumerate(works):
        if cell.supply is not None and n == times.supply_after:
            supply = _leg(roads, here, cell.supply.place)
            here = cell.supply.place
        place = roads.place_of(work)
        drive_s, drive_m = _leg(roads, here, place)
        here = place
        stops.append(
            Stop(
                visit_id=work.visit_id,
                site_id=work.site_id,
                drive_s=drive_s,
                drive_m=drive_m,
                arrive_s=times.arrive_s[n],
                start_s=times.begin_s[n],
                leave_s=times.leave_s[n],
                upkeep_ids=work.upkeep_ids,
            )
        )
    back = _leg(roads, here, cell.end) if stops or standing.is_out else (0, 0)
    all_works = [*(one.work for one in standing.happened), *works]
    begun = before is not None and (standing.is_out or past > 0)
    start_s = before.start_s if before is not None and begun else times.start_s
    has_meal_ahead = times.break_after is not None
    return Route(
        technician_id=standing.technician_id,
        day=cell.day,
        stops=tuple(stops),
        start_s=start_s,
        end_s=times.end_s if stops or standing.is_out else start_s,
        drive_s=sum(stop.drive_s for stop in stops) + supply[0] + back[0],
        drive_m=sum(stop.drive_m for stop in stops) + supply[1] + back[1],
        service_s=sum(stop.leave_s - stop.start_s for stop in stops),
        wait_s=sum(stop.wait_s for stop in stops[:past]) + times.wait_s,
        return_drive_s=back[0],
        return_drive_m=back[1],
        break_after=past + (times.break_after or 0) if has_meal_ahead else _eaten(before, past),
        break_start_s=times.break_start_s if has_meal_ahead else _at(before, past),
        break_s=times.break_s if has_meal_ahead else (_length(before, past)),
        load_kg=round(sum(work.load_kg for work in all_works), 1),
        chemicals_kg=round(sum(work.chemicals_kg for work in all_works), 1),
        overtime_s=max(0, times.end_s - cell.regular_end_s) if stops else 0,
        supply_after=None if times.supply_after is None else past + times.supply_after,
        supply_start_s=times.supply_start_s,
        supply_s=cell.supply.service_s if cell.supply and times.supply_after is not None else 0,
        supply_drive_s=supply[0],
        supply_drive_m=supply[1],
    )


def _leg(roads: Roads, here: int, there: int) -> tuple[int, int]:
    return int(roads.drive_s[here, there]), int(roads.drive_m[here, there])


def _eaten(before: Route | None, past: int) -> int | None:
    """Where the meal stood that is over by now; None where there was none."""
    known = before is not None and before.break_after is not None and before.break_after < past
    return before.break_after if before is not None and known else None


def _at(before: Route | None, past: int) -> int | None:
    return before.break_start_s if before and _eaten(before, past) is not None else None


def _length(before: Route | None, past: int) -> int:
    return before.break_s if before and _eaten(before, past) is not None else 0
