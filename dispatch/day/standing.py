"""Where each technician stands on the day: what is fixed, what may still change, from where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo

from dispatch.clock import LAST_S
from dispatch.day.moments import seconds_of
from dispatch.day.state import STARTED, DayState, StopState, VisitNow
from dispatch.day.work import Revision, Work
from dispatch.planning.problem import NO_DRIVE_S, Cell, Seconds
from dispatch.planning.timetable import Call, Times, times_of
from dispatch.technicians import Break, Shift


@dataclass(frozen=True, slots=True)
class Roads:
    """Drive times as the day reads them: the matrix in seconds, and the row of each place.

    Places are named `site:S1`, `start:T1`, `end:T1`, as in the drive-time matrix.
    """

    row: Mapping[str, int]
    drive_s: Seconds
    drive_m: Seconds

    def has(self, work: Work) -> bool:
        """Whether there are drive times to a visit's site."""
        return f"site:{work.site_id}" in self.row

    def place_of(self, work: Work) -> int:
        """Row of a visit's site."""
        return self.row[f"site:{work.site_id}"]

    def call_of(self, work: Work) -> Call:
        """The visit as a stop to be timed."""
        return Call(self.place_of(work), work.service_s, work.windows, work.chemicals_kg)


@dataclass(frozen=True, slots=True)
class Standing:
    """One technician at a moment of the day; seconds are those of the day.

    `cell` is the rest of the shift: it begins at `cell.start` when the truck can leave there, and
    has the payload that is left.
    `happened` are the visits of the route done, skipped or under way, in its order. `on_way` is the
    visit that is being driven to, `free` are those after it. `is_out` tells whether the day has
    begun for this technician, `is_over` whether it has ended or can take nothing more.
    `expected_s` is when the stop being driven to should have been reached, which may have passed.
    `meal_taken` is when a meal since the last stop began and how long it lasts, the truck being
    ready after it; None without one. With `eats_later` no meal comes before the stop driven to.
    """

    technician_id: str
    cell: Cell
    is_out: bool
    is_over: bool
    happened: tuple[VisitNow, ...]
    on_way: VisitNow | None
    free: tuple[VisitNow, ...]
    expected_s: int | None = None
    meal_taken: tuple[int, int] | None = None
    eats_later: bool = False

    @property
    def ahead(self) -> tuple[VisitNow, ...]:
        """The visits still to come, the one being driven to first."""
        return self.free if self.on_way is None else (self.on_way, *self.free)

    @property
    def ready_s(self) -> int:
        """When the truck can leave where it is."""
        return self.cell.shift.start_s

    def times(self, roads: Roads, works: Sequence[Work] | None = None) -> Times:
        """When the visits ahead, or `works` in their place, will be reached, as things stand.

        A stop that is being driven to is the first of `works` too.
        """
        ahead = [one.work for one in self.ahead] if works is None else works
        calls, cell = [roads.call_of(work) for work in ahead], self.cell
        if self.on_way is not None and self.eats_later and len(calls) > 1:
            cell = _fed_after(cell, calls[0], roads)
        return times_of(cell, calls, roads.drive_s)


def stand(state: DayState, cell: Cell, roads: Roads, now_s: int, zone: tzinfo) -> Standing:
    """Where the technician of `cell` stands at `now_s`; `cell` is the whole day as agreed.

    Somebody who drives to a stop is not called back: that stop keeps its place. Somebody at a
    gate leaves when the service has had its time, and not before now.
    """
    who = cell.technician_id
    own = tuple(one for one in state.of_technician(who) if roads.has(one.work))
    happened = tuple(one for one in own if one.state in STARTED)
    ahead = tuple(one for one in own if one.state is StopState.PLANNED)
    cell = _loaded(cell, [one.work for one in happened], _filled_again(state, cell))
    is_out = who in state.shift_started_at or who in state.last_at
    begins_s = cell.shift.start_s
    if who in state.shift_started_at:
        begins_s = seconds_of(state.day, state.shift_started_at[who], zone)
    else:
        begins_s = max(begins_s, state.begins_s.get(who, 0))
    ready_s, start, at_gate = begins_s, cell.start, False
    last = state.visits.get(state.last_at.get(who, ""))
    if last is not None and roads.has(last.work):
        at_gate = last.state is StopState.UNDER_WAY and last.technician_id == who
        ready_s = _leave_s(last, state, now_s, zone)
        start = roads.place_of(last.work)
    if not is_out:
        ready_s = max(ready_s, now_s)
    back_s = state.back_s.get(who)
    ended_at = state.shift_ended_at.get(who)
    has_ended = ended_at is not None and seconds_of(state.day, ended_at, zone) > (back_s or -1)
    ready_s = max(ready_s, back_s or 0)
    over = has_ended or ready_s >= cell.shift.over_s
    rest = _rest(cell, start, min(ready_s, cell.shift.over_s - 1), _meal_left(state, cell))
    on_way = ahead[0] if ahead and is_out and not at_gate and not over else None
    if on_way is not None and roads.drive_s[start, roads.place_of(on_way.work)] >= NO_DRIVE_S:
        on_way = None  # a road was closed meanwhile
    standing = Standing(who, rest, is_out, over, happened, on_way, ahead[on_way is not None :])
    return standing if at_gate or not is_out else _not_before(standing, roads, now_s)


def committed(standing: Standing, roads: Roads) -> Standing:
    """The same from the gate of the stop being driven to, which is not called off."""
    if standing.on_way is None:
        return standing
    times = standing.times(roads)
    refilled = [standing.on_way.work] if times.supply_after == 0 else None
    cell = _loaded(standing.cell, [standing.on_way.work], refilled)
    meal = None if times.break_after == 0 else cell.meal
    rest = _rest(
        replace(cell, shift=Shift(0, max(1, cell.regular_end_s)), slack_s=0),
        roads.place_of(standing.on_way.work),
        min(times.leave_s[0], standing.cell.shift.over_s - 1),
        meal,
    )
    return replace(standing, cell=rest, on_way=None, is_out=True, meal_taken=None)


def _loaded(cell: Cell, works: Sequence[Work], refilled: Sequence[Work] | None = None) -> Cell:
    """The truck with what these stops took of the day's load: it came back, or is still aboard.

    `refilled` are those made since the supply stop, None where it has not been made.
    """
    used_kg = sum(work.chemicals_kg for work in (works if refilled is None else refilled))
    payload_kg = max(0.0, cell.payload_kg - sum(work.load_kg for work in works))
    if cell.supply is not None and refilled is None:
        return replace(cell, payload_kg=payload_kg, used_kg=cell.used_kg + used_kg)
    return replace(
        cell,
        payload_kg=payload_kg,
        chemicals_most_kg=max(0.0, cell.chemicals_most_kg - used_kg),
        used_kg=0.0,
        supply=None,
    )


def _filled_again(state: DayState, cell: Cell) -> list[Work] | None:
    """Stops that happened after the supply stop; None where it has not been made."""
    revision = state.revisions.get(cell.technician_id)
    if cell.supply is None or revision is None:
        return None
    behind = happened_behind(state, revision, revision.route.supply_after)
    return [one.work for one in behind] or None


def happened_behind(state: DayState, revision: Revision, after: int | None) -> list[VisitNow]:
    """Stops of a route that have happened, of those planned behind the first `after`."""
    later = () if after is None else revision.visit_ids[after:]
    return [visit for one in later if (visit := state.visits[one]).state in STARTED]


def _leave_s(last: VisitNow, state: DayState, now_s: int, zone: tzinfo) -> int:
    """When the truck leaves the last gate: when it did, or when service has had its time."""
    if last.left_at is not None:
        return seconds_of(state.day, last.left_at, zone)
    if last.started_at is None:
        return now_s
    return max(now_s, seconds_of(state.day, last.started_at, zone) + last.work.service_s)


def _not_before(standing: Standing, roads: Roads, now_s: int) -> Standing:
    """What is still to come comes now at the earliest, however overdue it is."""
    if standing.on_way is None:
        return leaving(standing, max(standing.ready_s, now_s))
    times, place = standing.times(roads), roads.place_of(standing.on_way.work)
    expected_s, is_first = times.arrive_s[0], times.break_after == 0
    if is_first and times.break_start_s is not None and times.break_start_s < now_s:
        standing = _after_meal(standing, times.break_start_s, times.break_s)
    way_s = int(roads.drive_s[standing.cell.start, place])
    supply = standing.cell.supply
    if supply is not None and times.supply_after == 0:
        there_s, on_s = (
            roads.drive_s[standing.cell.start, supply.place],
            roads.drive_s[supply.place, place],
        )
        way_s = int(there_s) + supply.service_s + int(on_s)
    # who is not there yet left later than a drive ago, however long the truck has been ready
    late = leaving(standing, max(standing.ready_s, now_s - way_s))
    return replace(late, expected_s=expected_s, eats_later=not is_first)


def _after_meal(standing: Standing, begun_s: int, lasts_s: int) -> Standing:
    """The same with a meal that has begun where the truck is, which is ready when it is over."""
    cell = replace(standing.cell, meal=None)
    fed = leaving(replace(standing, cell=cell), begun_s + lasts_s)
    return replace(fed, meal_taken=(begun_s, lasts_s))


def _fed_after(cell: Cell, first: Call, roads: Roads) -> Cell:
    """The cell with its meal, late or not, after the first stop at the earliest."""
    if cell.meal is None:
        return cell
    unfed = replace(cell, meal=None)
    leave_s = times_of(unfed, [first], roads.drive_s).leave_s[0]
    earliest_s = max(cell.meal.earliest_s, leave_s)
    if earliest_s > LAST_S:
        return unfed  # the working day is over by then
    return replace(
        cell, meal=Break(cell.meal.minutes, earliest_s, max(cell.meal.latest_s, earliest_s))
    )


def leaving(standing: Standing, at_s: int) -> Standing:
    """The same with the truck leaving where it is at `at_s`."""
    cell = standing.cell
    regular_end_s, begins_s = cell.regular_end_s, min(at_s, cell.shift.over_s - 1)
    end_s = max(regular_end_s, begins_s + 1)
    shift = Shift(begins_s, end_s)
    return replace(standing, cell=replace(cell, shift=shift, slack_s=end_s - regular_end_s))


def _rest(cell: Cell, start: int, ready_s: int, meal: Break | None) -> Cell:
    """The rest of a truck-day; on the day itself no part of the shift is held back."""
    begins_s = max(0, ready_s)
    end_s = max(cell.shift.end_s, begins_s + 1)
    if meal is not None and begins_s > meal.latest_s:
        meal = Break(meal.minutes, meal.earliest_s, begins_s)  # late, and still owed
    return replace(
        cell,
        start=start,
        shift=Shift(begins_s, end_s),
        slack_s=end_s - cell.shift.end_s,
        meal=meal,
    )


def _meal_left(state: DayState, cell: Cell) -> Break | None:
    """The meal, unless a stop that was planned after it has happened."""
    revision = state.revisions.get(cell.technician_id)
    if cell.meal is None or revision is None:
        return cell.meal
    return None if happened_behind(state, revision, revision.route.break_after) else cell.meal


def stand_all(
    state: DayState, cells: Sequence[Cell], roads: Roads, now_s: int, zone: tzinfo
) -> dict[str, Standing]:
    """Where everybody with a cell that day stands, by technician."""
    return {cell.technician_id: stand(state, cell, roads, now_s, zone) for cell in cells}
