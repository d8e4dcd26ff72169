"""A technician's whole route after a repair: what happened, then what is still to come."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from dispatch.day.standing import Roads, Standing
from dispatch.day.work import Work
from dispatch.planning.plan import Route, Stop
from dispatch.planning.timetable import Times


def route_of(
    standing: Standing, works: Sequence[Work], before: Route | None, roads: Roads
) -> Route:
    """The route of a technician who has `works` ahead, in this order.

    Stops that happened keep the times they were planned with; times of the others are those of
    the timetable, from where the truck is. Seconds of the day, metres.
    """
    cell = standing.cell
    times = standing.times(roads, works)
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
    filled = _supply(standing, times, before, past, supply)
    back = _leg(roads, here, cell.end) if stops or standing.is_out else (0, 0)
    all_works = [*(one.work for one in standing.happened), *works]
    begun = before is not None and (standing.is_out or past > 0)
    start_s = before.start_s if before is not None and begun else times.start_s
    break_after, break_start_s, break_s = _meal(standing, times, before, past)
    return Route(
        technician_id=standing.technician_id,
        day=cell.day,
        stops=tuple(stops),
        start_s=start_s,
        end_s=times.end_s if stops or standing.is_out else start_s,
        drive_s=sum(stop.drive_s for stop in stops) + filled.drive_s + back[0],
        drive_m=sum(stop.drive_m for stop in stops) + filled.drive_m + back[1],
        service_s=sum(stop.leave_s - stop.start_s for stop in stops),
        wait_s=sum(stop.wait_s for stop in stops[:past]) + times.wait_s,
        return_drive_s=back[0],
        return_drive_m=back[1],
        break_after=break_after,
        break_start_s=break_start_s,
        break_s=break_s,
        load_kg=round(sum(work.load_kg for work in all_works), 1),
        chemicals_kg=round(sum(work.chemicals_kg for work in all_works), 1),
        overtime_s=max(0, times.end_s - cell.regular_end_s) if stops else 0,
        supply_after=filled.after,
        supply_start_s=filled.start_s,
        supply_s=filled.lasts_s,
        supply_drive_s=filled.drive_s,
        supply_drive_m=filled.drive_m,
    )


class _Filled(NamedTuple):
    """The supply stop: after how many stops, when, how long, and the drive to it."""

    after: int | None = None
    start_s: int | None = None
    lasts_s: int = 0
    drive_s: int = 0
    drive_m: int = 0


def _supply(
    standing: Standing, times: Times, before: Route | None, past: int, leg: tuple[int, int]
) -> _Filled:
    """The supply stop to come, reached by the leg, else the one that was made; or none."""
    if times.supply_after is not None and standing.cell.supply is not None:
        lasts_s = standing.cell.supply.service_s
        return _Filled(past + times.supply_after, times.supply_start_s, lasts_s, *leg)
    if before is None or (count := _passed(standing, before, before.supply_after)) is None:
        return _Filled()
    drive = before.supply_drive_s, before.supply_drive_m
    return _Filled(count, before.supply_start_s, before.supply_s, *drive)


def _passed(standing: Standing, before: Route, after: int | None) -> int | None:
    """How many stops happened before what stood after so many; None where none did behind it."""
    happened = {one.work.visit_id for one in standing.happened}
    if after is None or not any(stop.visit_id in happened for stop in before.stops[after:]):
        return None
    return sum(stop.visit_id in happened for stop in before.stops[:after])


def _leg(roads: Roads, here: int, there: int) -> tuple[int, int]:
    return int(roads.drive_s[here, there]), int(roads.drive_m[here, there])


def _meal(
    standing: Standing, times: Times, before: Route | None, past: int
) -> tuple[int | None, int | None, int]:
    """After how many stops the meal comes or came, when it begins and how long it lasts."""
    if times.break_after is not None:
        return past + times.break_after, times.break_start_s, times.break_s
    if standing.meal_taken is not None:
        return past, *standing.meal_taken
    if before is None or (count := _passed(standing, before, before.break_after)) is None:
        return None, None, 0
    return count, before.break_start_s, before.break_s
