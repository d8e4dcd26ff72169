"""Who drives to a stop, and the meal: nothing is expected, told or eaten in the past, or twice."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import UTC

import pytest

from dispatch.clock import format_time, parse_time
from dispatch.day.compose import route_of
from dispatch.day.events import DayEvent
from dispatch.day.events import EventKind as Kind
from dispatch.day.new_times import new_times
from dispatch.day.own_search import inserted
from dispatch.day.rest import field_of
from dispatch.day.situation import Situation, spent_s
from dispatch.day.standing import Standing, stand
from dispatch.day.state import DayState, StopState
from dispatch.day.triggers import (
    JobOverrun,
    RunningLate,
    StopCancelled,
    StopMoved,
    TechnicianOut,
    Trigger,
    UrgentStop,
)
from dispatch.day.work import Revision, Work
from dispatch.planning.plan import Route
from dispatch.planning.problem import Cell, Supply
from dispatch.technicians import Break, Shift
from tests.day.days import day_of, event, line_roads, revision, truck, upset, work

BRUNCH = Break(30, 8 * 3600, 9 * 3600)
TRUCK = truck("T1", meal=BRUNCH)
STOPS = [work(1), work(2), work(5)]
SEEDS = (*range(10), 73, 106, 160, 228, 232)  # the last five once went wrong
LEFT = event(2, Kind.DONE, "08:05", "T1", "S1/1")


def _stand(at: str, *events: DayEvent, meal: Break = BRUNCH) -> Standing:
    cell = truck("T1", meal=meal)
    return stand(day_of({"T1": STOPS}, *events), cell, line_roads(), parse_time(at), UTC)


def _times(at: str, left: str, meal: Break) -> tuple[list[str], str]:
    """When S2 and S5 are reached and the meal begins, S1 having been left."""
    standing = _stand(at, event(2, Kind.DONE, left, "T1", "S1/1"), meal=meal)
    times = standing.times(line_roads())
    assert times.break_start_s is not None
    return [format_time(one) for one in times.arrive_s], format_time(times.break_start_s)


def _repaired(one: Situation, who: str, visits: tuple[str, ...]) -> Route:
    before = one.state.revisions[who].route
    works = [one.state.visits[visit].work for visit in visits]
    return route_of(one.standings[who], works, before, one.rest.roads)


def test_a_meal_that_has_begun_is_not_taken_back_with_what_follows() -> None:
    """Eating from 8:05 to 8:35, then a minute to S2; without S5 the day would owe no meal.

    Counted anew from 8:05 without it, S2 would be reached at 8:06, and it is 8:20.
    """
    one = upset(day_of({"T1": STOPS}, LEFT), StopCancelled("S5/1"), "08:20", [TRUCK])
    route = _repaired(one, "T1", ("S2/1",))
    assert [format_time(stop.arrive_s) for stop in route.stops] == ["08:01", "08:36"]
    assert route.break_start_s is not None
    meal = (route.break_after, format_time(route.break_start_s), route.break_s)
    assert meal == (1, "08:05", 30 * 60)


def test_time_at_a_meal_that_has_begun_is_no_paid_work() -> None:
    """Out from 8:00, ready after the meal at 8:35: 35 minutes, 5 of them paid."""
    state = day_of({"T1": STOPS}, LEFT)
    assert spent_s(state, _stand("08:20", LEFT)) == 5 * 60


def test_a_meal_that_a_repair_finds_over_stays_in_the_route() -> None:
    """At 8:50 the meal of 8:05 is over and S2 overdue; who lost it would be told to eat again."""
    one = upset(day_of({"T1": STOPS}, LEFT), at="08:50", cells=[TRUCK])
    route = _repaired(one, "T1", ("S2/1", "S5/1"))
    assert [format_time(stop.arrive_s) for stop in route.stops] == ["08:01", "08:50", "09:23"]
    assert (route.break_after, route.break_start_s) == (1, parse_time("08:05"))


def test_a_meal_that_was_taken_stays_in_the_route_whatever_is_done_first() -> None:
    """The meal stood after S1 and S2; S5 behind it is done, so it was taken, S1 or not."""
    planned = revision("T1", STOPS).route
    planned = replace(planned, break_after=2, break_start_s=parse_time("09:00"), break_s=1800)
    done = event(2, Kind.DONE, "09:40", "T1", "S5/1")
    state = day_of({"T1": STOPS}, done)
    state = replace(state, revisions={"T1": Revision(1, 1, planned, tuple(STOPS))})
    one = upset(state, at="09:40", cells=[truck("T1", meal=Break(30, 32400, 36000))])
    route = _repaired(one, "T1", ("S1/1", "S2/1"))
    assert (route.break_after, route.break_s) == (0, 30 * 60)


@pytest.mark.parametrize(
    ("at", "reached", "meal"),
    [
        ("08:40", ["08:40", "09:43"], "09:10"),
        ("09:00", ["09:00", "10:03"], "09:30"),  # not S2 at 9:31 after a meal on the road
        ("09:30", ["09:30", "10:33"], "10:00"),  # nor no meal at all, 20 minutes too late
    ],
)
def test_nobody_on_the_road_eats_before_the_stop(at: str, reached: list[str], meal: str) -> None:
    """Left at 8:31 to eat behind S2 by 9:10; overdue at S2, who drives there eats there later."""
    assert _times(at, "08:31", Break(30, 9 * 3600, 9 * 3600 + 600)) == (reached, meal)


def test_a_night_that_nobody_ended_can_be_looked_at_days_later() -> None:
    """Who never came to S2, of 12.5 h, would eat behind it after the end of the next day."""
    stops = [work(1), work(2, 750), work(5)]
    state = day_of({"T1": stops}, event(2, Kind.DONE, "21:31", "T1", "S1/1"))
    cell = truck("T1", meal=Break(30, 41 * 3600, 42 * 3600))
    cell = replace(cell, shift=Shift(20 * 3600, 44 * 3600))
    standing = stand(state, cell, line_roads(), 10 * 86_400, UTC)
    assert standing.times(line_roads()).break_after is None


def test_a_customer_is_told_the_time_that_the_technician_gets() -> None:
    """S5 is out of the day, so no meal is owed any more, and S3 comes 30 minutes sooner."""
    stops = [work(1), work(2), work(3), work(5)]
    started = event(2, Kind.STARTED, "08:01", "T1", "S1/1")
    state = day_of({"T1": stops}, started)
    cells = [truck("T1", meal=Break(30, 8 * 3600, 9 * 3600 + 2400))]
    out = TechnicianOut("T1", parse_time("09:35"))
    one, before = upset(state, out, "08:05", cells), upset(state, at="08:05", cells=cells)
    told = {
        new.visit_id: new.start_after_s
        for new in new_times(one, before, one.rest.base, {})
        if new.start_after_s is not None
    }
    (who, visits), *_ = one.pinned.items()
    stops_after = {stop.visit_id: stop.start_s for stop in _repaired(one, who, visits).stops}
    assert told
    assert told == {visit: stops_after[visit] for visit in told}


@pytest.mark.parametrize("seed", SEEDS)
def test_random_days_are_repaired_without_a_step_into_the_past(seed: int) -> None:
    """Meals anywhere, stops done in any order, a repair at any minute, as it would be published."""
    chance = random.Random(seed)
    works = [
        work(site, chance.choice([15, 30, 60]), chance.choice(["", "", "09:00-10:30"]))
        for site in chance.sample(range(1, 30), 6)
    ]
    earliest_s = chance.randrange(parse_time("08:00"), parse_time("10:00"), 900)
    meal = Break(chance.choice([20, 45]), earliest_s, earliest_s + chance.choice([900, 3600]))
    cells = [truck("T1", "08:00-11:30", meal=meal), truck("T2", "08:00-12:00", meal=meal)]
    state, now = _some_of_it_done(chance, {"T1": works[:4], "T2": works[4:]})
    at = format_time(now)
    trigger = chance.choice(_triggers(state, now))
    one, before = upset(state, trigger, at, cells), upset(state, at=at, cells=cells)
    orders = inserted(field_of(one.rest), one.rest.base, one.wanted).orders
    told = {new.visit_id: new.start_after_s for new in new_times(one, before, orders, {})}
    for who, visits in one.ahead(orders).items():
        route = _repaired(one, who, visits)
        ahead = [stop for stop in route.stops if stop.visit_id in visits]
        assert all(stop.arrive_s >= now for stop in ahead), (who, route)
        assert all(told.get(stop.visit_id, stop.start_s) == stop.start_s for stop in ahead)
        _look_at_the_meal(route, len(route.stops) - len(ahead), meal)


def _some_of_it_done(chance: random.Random, routes: dict[str, list[Work]]) -> tuple[DayState, int]:
    """A day on which some stops were begun, done or skipped, and a moment after all that."""
    events, moments = list[DayEvent](), [parse_time("08:00")]
    for who, works in routes.items():
        now = parse_time("08:00") + chance.choice([0, 60, 1800])
        for one in chance.sample(works, chance.randrange(3)):
            now += chance.choice([60, 600, 1500])
            kinds = [chance.choice([Kind.STARTED, Kind.SKIPPED])]
            kinds += [Kind.DONE] if kinds == [Kind.STARTED] and chance.random() < 0.8 else []
            for kind in kinds:
                number, why = len(events) + 2, {"reason": "dog"} if kind is Kind.SKIPPED else {}
                events.append(event(number, kind, format_time(now), who, one.visit_id, **why))
                now += chance.choice([300, 1800])
        moments.append(now)
    return day_of(routes, *events), max(moments) + 60 * chance.randrange(60)


def _triggers(state: DayState, now: int) -> list[Trigger]:
    """What can upset this day."""
    found: list[Trigger] = [RunningLate(), UrgentStop(work(33, 30))]
    found += [TechnicianOut("T1", now), TechnicianOut("T1", now + 3600)]
    for visit_id, one in state.visits.items():
        if one.state is StopState.PLANNED:
            found += [StopCancelled(visit_id), StopMoved(visit_id), JobOverrun(visit_id, 1800)]
    return found


def _look_at_the_meal(route: Route, past: int, meal: Break) -> None:
    """It lies between two stops, and begins in its span or as soon as the stop before is left."""
    if route.break_after is None or route.break_start_s is None or route.break_after < past:
        return
    sooner, later = route.stops[: route.break_after], route.stops[route.break_after :]
    assert all(stop.arrive_s >= route.break_start_s + route.break_s for stop in later), route
    assert meal.earliest_s <= route.break_start_s, route
    if route.break_after > past:
        assert sooner[-1].leave_s <= route.break_start_s, route
        is_at_once = route.break_start_s == sooner[-1].leave_s
        assert route.break_start_s <= meal.latest_s or is_at_once, route


SHOP = Supply(4, 15 * 60)


def _to_be_filled_again() -> tuple[DayState, Cell]:
    """S1 and S2 take 20 kg each of the 25 that may be aboard: the shop at place 4 lies between."""
    stops = [work(1, chemicals_kg=20.0), work(2, chemicals_kg=20.0), work(5)]
    cell = truck("T1", chemicals_most_kg=25.0, supply=SHOP)
    standing = stand(day_of({"T1": stops}), cell, line_roads(), parse_time("07:00"), UTC)
    planned = route_of(standing, stops, None, line_roads())
    state = replace(day_of({"T1": stops}), revisions={"T1": Revision(1, 1, planned, tuple(stops))})
    return state, cell


def _after(state: DayState, *events: DayEvent) -> DayState:
    made = state.revisions["T1"]
    told = day_of({"T1": list(made.works)}, *events)
    return replace(told, revisions={"T1": made})


def test_a_truck_is_filled_again_though_its_first_stop_is_done() -> None:
    """8:31 at S1, 3 minutes to the shop, 15 there, 2 back to S2: the truck has 5 kg left for 20."""
    state, cell = _to_be_filled_again()
    one = upset(_after(state, event(2, Kind.DONE, "08:31", "T1", "S1/1")), at="08:31", cells=[cell])
    route = _repaired(one, "T1", ("S2/1", "S5/1"))
    assert (route.supply_after, route.supply_s, route.supply_drive_s) == (1, 15 * 60, 3 * 60)
    assert format_time(route.stops[1].arrive_s) == "08:51"
    one = upset(one.state, at="08:40", cells=[cell])  # on the way there, as expected
    assert format_time(one.standings["T1"].times(line_roads()).arrive_s[0]) == "08:51"


def test_a_supply_stop_that_was_made_stays_in_the_route_and_is_not_made_again() -> None:
    """S2 behind it is done, so it was made; 5 kg are left, and what takes more is told."""
    state, cell = _to_be_filled_again()
    events = (
        event(2, Kind.DONE, "08:31", "T1", "S1/1"),
        event(3, Kind.DONE, "09:21", "T1", "S2/1"),
    )
    one = upset(_after(state, *events), at="09:21", cells=[cell])
    planned, route = state.revisions["T1"].route, _repaired(one, "T1", ("S5/1",))
    assert (route.supply_after, route.supply_start_s) == (1, planned.supply_start_s)
    assert (route.drive_s, route.end_s - route.drive_s) == (
        planned.drive_s,
        planned.end_s - planned.drive_s,
    )
    rest = one.standings["T1"].cell
    assert (rest.supply, rest.chemicals_most_kg, rest.used_kg) == (None, 5.0, 0.0)
