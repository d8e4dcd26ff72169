"""A day that was upset: what is forced, what is left to decide."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import tzinfo

from dispatch.day.rest import Order, RepairPrices, Rest
from dispatch.day.standing import Roads, Standing, committed, happened_behind, leaving, stand_all
from dispatch.day.state import DayState, StopState, VisitNow, noting
from dispatch.day.triggers import (
    JobOverrun,
    LateStart,
    RoadReopened,
    StopCancelled,
    StopMoved,
    TechnicianBack,
    TechnicianOut,
    Trigger,
    UrgentStop,
    noted_of,
)
from dispatch.day.work import Work
from dispatch.errors import InvalidValue
from dispatch.planning.problem import NO_DRIVE_S, Cell, Hours
from dispatch.words import _, worded


@dataclass(frozen=True, slots=True)
class Situation:
    """What a repair decides about.

    `state` is the day with what the trigger forces (a visit that lasts longer, an urgent one),
    `standings` where everybody stands in it. `rest` holds the visits that may change hands, and
    `wanted` those of them, by position, that look for a place. `pinned` are the visits ahead of
    technicians who take nothing more; `off` the visit that leaves the day, `added` what is new.
    """

    state: DayState
    standings: Mapping[str, Standing]
    rest: Rest
    wanted: tuple[int, ...]
    trigger: Trigger
    pinned: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    off: VisitNow | None = None
    added: tuple[Work, ...] = ()

    def ahead(self, orders: Sequence[Order]) -> dict[str, tuple[str, ...]]:
        """Visits ahead of each technician under these orders of the rest, in their order."""
        found = dict(self.pinned)
        for one, order in zip(self.rest.standings, orders, strict=True):
            first = self.standings[one.technician_id].on_way
            head = (first.work.visit_id,) if first is not None and first != self.off else ()
            found[one.technician_id] = head + tuple(self.rest.works[n].visit_id for n in order)
        return found


def situation(
    state: DayState,
    cells: Sequence[Cell],
    roads: Roads,
    now_s: int,
    zone: tzinfo,
    trigger: Trigger,
    prices: RepairPrices,
    hours: tuple[Hours, ...] = (),
) -> Situation:
    """What is left to decide at `now_s` once the trigger has had its way.

    Work done and stops under way stay; so does a stop that is being driven to, unless it is the
    one that the trigger takes off the day or its driver is out.

    Raises
    ------
    InvalidValue
        When the trigger names a visit or technician that the day does not know, or one that
        cannot be changed any more.
    """
    _check(state, cells, trigger)
    if isinstance(trigger, JobOverrun):
        state = _longer(state, trigger)
    added: tuple[Work, ...] = ()
    if isinstance(trigger, UrgentStop):
        new = VisitNow(trigger.work, StopState.UNPLACED, None)
        state = replace(state, visits={**state.visits, trigger.work.visit_id: new})
        added = (trigger.work,)
    if isinstance(trigger, JobOverrun):
        added = (state.visits[trigger.visit_id].work,)
    state = noting(state, noted_of(trigger))
    standings = stand_all(state, cells, roads, now_s, zone)
    off = None
    if isinstance(trigger, StopMoved | StopCancelled):
        off = state.visits[trigger.visit_id]
        standings = {who: dropping(one, off, now_s) for who, one in standings.items()}
    pinned, loose = _closed(state, standings, roads)
    opened = [one for who, one in sorted(standings.items()) if who not in pinned]
    rest, wanted = _rest(state, opened, [*loose, *_homeless(state, roads, off)], roads)
    exempt = {getattr(trigger, "technician_id", None)}
    if isinstance(trigger, JobOverrun):
        exempt = {state.visits[trigger.visit_id].technician_id}
    rest = replace(rest, exempt=frozenset(one for one in exempt if one), prices=prices, hours=hours)
    return Situation(state, standings, rest, wanted, trigger, pinned, off, added)


def _check(state: DayState, cells: Sequence[Cell], trigger: Trigger) -> None:
    if isinstance(trigger, TechnicianOut | TechnicianBack | LateStart):
        known = {cell.technician_id for cell in cells}
        if trigger.technician_id not in known:
            raise InvalidValue(
                _("Technician '{technician}' has no shift on {day}: choose one of {known}.").format(
                    technician=trigger.technician_id, day=state.day, known=", ".join(sorted(known))
                )
            )
    if isinstance(trigger, StopMoved | StopCancelled | JobOverrun):
        one = state.visits.get(trigger.visit_id)
        if one is None:
            raise InvalidValue(
                _("The visit '{visit}' was not due on {day}.").format(
                    visit=trigger.visit_id, day=state.day
                )
            )
        fixed = one.state in (StopState.DONE, StopState.MOVED, StopState.CANCELLED)
        if fixed or (one.state is StopState.UNDER_WAY and not isinstance(trigger, JobOverrun)):
            raise InvalidValue(
                _("The visit '{visit}' is {state} and cannot be changed any more.").format(
                    visit=trigger.visit_id, state=worded(one.state)
                )
            )
    if isinstance(trigger, TechnicianBack) and trigger.technician_id not in state.out_from_s:
        raise InvalidValue(
            _("Technician '{technician}' is not out on {day}, so there is no coming back.").format(
                technician=trigger.technician_id, day=state.day
            )
        )
    if isinstance(trigger, RoadReopened) and trigger.area not in state.closed:
        raise InvalidValue(
            _("No such area is closed on {day}: choose one of those that are.").format(
                day=state.day
            )
        )
    if isinstance(trigger, UrgentStop) and trigger.work.visit_id in state.visits:
        raise InvalidValue(
            _(
                "The visit '{visit}' is due on {day} already: give the urgent stop another name."
            ).format(visit=trigger.work.visit_id, day=state.day)
        )


def _longer(state: DayState, trigger: JobOverrun) -> DayState:
    one = state.visits[trigger.visit_id]
    work = replace(one.work, service_s=one.work.service_s + trigger.extra_s)
    return replace(state, visits={**state.visits, trigger.visit_id: replace(one, work=work)})


def dropping(standing: Standing, off: VisitNow, now_s: int) -> Standing:
    """The standing without a visit that leaves the day; one being driven to is called off now."""
    free = tuple(one for one in standing.free if one != off)
    if standing.on_way == off:
        called_off = replace(standing, on_way=None, free=free, expected_s=None)
        return leaving(called_off, max(standing.ready_s, now_s))
    return replace(standing, free=free)


def _closed(
    state: DayState, standings: Mapping[str, Standing], roads: Roads
) -> tuple[dict[str, tuple[str, ...]], list[Work]]:
    """Visits that stay with technicians who take nothing more, and those that they lose."""
    pinned: dict[str, tuple[str, ...]] = {}
    loose: list[Work] = []
    for who, one in standings.items():
        if who in state.out_from_s:
            stays = [at_s < state.out_from_s[who] for at_s in one.times(roads).begin_s]
            count = stays.index(False) if False in stays else len(stays)
        elif one.is_over:
            count = 0
        else:
            continue
        pinned[who] = tuple(visit.work.visit_id for visit in one.ahead[:count])
        loose += [visit.work for visit in one.ahead[count:]]
    return pinned, loose


def _homeless(state: DayState, roads: Roads, off: VisitNow | None) -> list[Work]:
    """Visits that are due and stand nowhere."""
    return [
        one.work
        for one in state.visits.values()
        if one.state is StopState.UNPLACED and one != off and roads.has(one.work)
    ]


def _rest(
    state: DayState, opened: Iterable[Standing], loose: Sequence[Work], roads: Roads
) -> tuple[Rest, tuple[int, ...]]:
    standings = tuple(committed(one, roads) for one in opened)
    works: list[Work] = []
    base: list[Order] = []
    lost = list(loose)
    for one in standings:
        reached = [visit.work for visit in one.free if _is_reached(one, visit.work, roads)]
        lost += [visit.work for visit in one.free if visit.work not in reached]
        base.append(tuple(range(len(works), len(works) + len(reached))))
        works += reached
    wanted = tuple(range(len(works), len(works) + len(lost)))
    works += lost
    return Rest(state.day, standings, tuple(works), tuple(base), roads), wanted


def _is_reached(standing: Standing, work: Work, roads: Roads) -> bool:
    """Whether there is a way to a visit and home from it; closed roads may leave none."""
    place, cell = roads.place_of(work), standing.cell
    ways = (roads.drive_s[cell.start, place], roads.drive_s[place, cell.end])
    return bool(max(ways) < NO_DRIVE_S)


def spent_s(state: DayState, standing: Standing) -> int:
    """Paid time of a technician's day so far, in seconds; 0 before it has begun."""
    revision = state.revisions.get(standing.technician_id)
    if not standing.is_out or revision is None:
        return 0
    route = revision.route
    eaten_s = route.break_s if happened_behind(state, revision, route.break_after) else 0
    if standing.meal_taken is not None:
        eaten_s = standing.meal_taken[1]
    return max(0, standing.ready_s - route.start_s - eaten_s)
