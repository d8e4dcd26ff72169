"""Repairs: what may change, what it costs, and that nothing is broken in silence."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.clock import format_time, parse_time
from dispatch.day.engines import best_rest, combined
from dispatch.day.events import EventKind as Kind
from dispatch.day.general import general_search
from dispatch.day.options import Option, OtherDay, options
from dispatch.day.own_search import cost_of, inserted, own_search
from dispatch.day.rest import field_of
from dispatch.day.situation import Situation
from dispatch.day.triggers import (
    JobOverrun,
    LateStart,
    RunningLate,
    StopCancelled,
    StopMoved,
    TechnicianOut,
    Trigger,
    UrgentStop,
)
from dispatch.day.work import Work
from dispatch.errors import InvalidValue
from dispatch.planning.plan import Rule
from tests.day.days import DAY, day_of, event, truck, upset, work

ROUNDS = 200
EIGHT = parse_time("08:00")


def _offer(one: Situation, before: Situation, **more: object) -> dict[str, Option]:
    found = options(one, before, seed=1, rounds=ROUNDS, **more)  # type: ignore[arg-type]
    return {option.key: option for option in found}


def test_stops_of_somebody_who_is_out_go_to_others_at_the_price_of_the_drive() -> None:
    """T2 has S10 (20 min there and back); S12 on the way adds 4 min and loses T1's 24."""
    state = day_of({"T1": [work(12)], "T2": [work(10, window="08:00-08:15")]})
    one = upset(state, TechnicianOut("T1", EIGHT))
    best = next(iter(_offer(one, upset(state)).values()))
    assert best.choice.ahead == {"T1": (), "T2": ("S10/1", "S12/1")}
    assert best.extra_drive_s == (24 - 24 - 20) * 60
    assert best.changed == ("T1", "T2")
    assert [(c.visit_id, c.technician_before, c.technician_after) for c in best.new_times] == [
        ("S12/1", "T1", "T2")
    ]


def test_who_is_out_from_ten_keeps_what_begins_before() -> None:
    """S1 8:01 and S2 8:32 stay; S3 would begin at 10:00 or later and goes to T2."""
    state = day_of({"T1": [work(1), work(2, 90), work(3)], "T2": [work(4)]})
    one = upset(state, TechnicianOut("T1", parse_time("10:00")))
    best = next(iter(_offer(one, upset(state)).values()))
    assert best.choice.ahead["T1"] == ("S1/1", "S2/1")
    assert set(best.choice.ahead["T2"]) == {"S3/1", "S4/1"}


def test_done_and_under_way_and_the_stop_driven_to_stay() -> None:
    """T1 did S1 and drives to S2; only S3 may go elsewhere, even when T1 runs late."""
    state = day_of(
        {"T1": [work(1), work(2), work(3)], "T2": [work(4), work(5)]},
        event(2, Kind.DONE, "08:31", "T1", "S1/1"),
        event(3, Kind.STARTED, "08:04", "T2", "S4/1"),
    )
    one = upset(state, at="08:31")
    assert [w.visit_id for w in one.rest.works] == ["S3/1", "S5/1"]
    for option in _offer(one, one).values():
        assert option.choice.ahead["T1"][0] == "S2/1"


@pytest.mark.parametrize("is_chemical", [False, True])
@pytest.mark.parametrize("kind", [Kind.DONE, Kind.SKIPPED])
def test_a_truck_carries_what_its_stops_before_took(is_chemical: bool, kind: Kind) -> None:
    """60 of 100 kg are taken: by wet sand on its way home, or by parts that were not needed.

    The stop driven to takes 30 more, so 10 are left for T1, and a job of 20 goes to T2.
    """

    def taking(site: int, mass_kg: float) -> Work:
        if is_chemical:
            return work(site, chemicals_kg=mass_kg)
        return work(site, load_kg=mass_kg)

    near, far = truck("T1", payload_kg=100, chemicals_most_kg=100), truck("T2")
    stops = [taking(1, 60), taking(2, 30), work(4)]
    more = {"reason": "dog"} if kind is Kind.SKIPPED else {}
    state = day_of({"T1": stops, "T2": [work(30)]}, event(2, kind, "08:31", "T1", "S1/1", **more))
    one = upset(state, UrgentStop(taking(3, 20)), "08:31", [near, far])
    found = _offer(one, upset(state, at="08:31", cells=[near, far]))
    assert all("S3/1" not in option.choice.ahead["T1"] for option in found.values())
    assert "S3/1" in found["keep-order"].choice.ahead["T2"]
    light = upset(state, UrgentStop(taking(3, 10)), "08:31", [near, far])
    kept = _offer(light, upset(state, at="08:31", cells=[near, far]))["keep-order"]
    assert "S3/1" in kept.choice.ahead["T1"]
    assert kept.violations == ()


def test_a_truck_that_was_overloaded_by_hand_may_stay_so_and_takes_no_more() -> None:
    """130 kg were planned on a truck for 100: told, priced like any day, and 5 kg go to T2."""
    cells = [truck("T1", payload_kg=100), truck("T2")]
    state = day_of(
        {"T1": [work(1, load_kg=60), work(2, load_kg=40), work(4, load_kg=30)], "T2": [work(30)]},
        event(2, Kind.DONE, "08:31", "T1", "S1/1"),
    )
    one = upset(state, UrgentStop(work(3, load_kg=5)), "08:31", cells)
    keep = _offer(one, upset(state, at="08:31", cells=cells))["keep-order"]
    assert keep.choice.ahead == {"T1": ("S2/1", "S4/1"), "T2": ("S3/1", "S30/1")}
    assert keep.cost_s < 24 * 3600
    assert [(one.rule, one.amount) for one in keep.violations] == [(Rule.PAYLOAD, 30)]


def test_others_orders_change_only_where_it_pays_the_threshold() -> None:
    """T1 drives 3, 1, 2: 8 min in all where 6 are enough; 2 min pay a threshold of 1 min."""
    state = day_of({"T1": [work(3), work(1), work(2)]})
    for minutes, saved_s, changed in ((1, -120, ("T1",)), (15, 0, ())):
        one = upset(state, threshold_min=minutes)
        best = next(iter(_offer(one, one).values()))
        assert (best.extra_drive_s, best.changed) == (saved_s, changed)


def test_a_fixed_time_is_kept_or_listed_as_broken() -> None:
    """S9 by 9:00 cannot be reached after an overrun until 10:01; nobody else may go."""
    fixed = work(9, window="08:00-09:00", usual_technician_id="T1", technician_locked=True)
    state = day_of(
        {"T1": [work(1), fixed], "T2": [work(2)]}, event(2, Kind.STARTED, "08:01", "T1", "S1/1")
    )
    one = upset(state, JobOverrun("S1/1", 90 * 60), at="08:05")
    for option in _offer(one, upset(state, at="08:05")).values():
        placed = [visit for visits in option.choice.ahead.values() for visit in visits]
        late = [v for v in option.violations if v.rule is Rule.WINDOW and v.subject == "S9/1"]
        assert "S9/1" not in option.choice.ahead["T2"]
        assert late if "S9/1" in placed else [u.visit_id for u in option.unplaced] == ["S9/1"]


def test_a_customer_with_a_fixed_time_goes_to_somebody_who_can_be_there() -> None:
    """T1 is held up until 10:01; T2 is free and 9 min away, so the promise of 9:00 is kept."""
    fixed = work(9, window="08:00-09:00")
    state = day_of(
        {"T1": [work(1), fixed], "T2": [work(30)]}, event(2, Kind.STARTED, "08:01", "T1", "S1/1")
    )
    one = upset(state, JobOverrun("S1/1", 90 * 60), at="08:05")
    best = next(iter(_offer(one, upset(state, at="08:05")).values()))
    assert "S9/1" in best.choice.ahead["T2"]
    assert best.violations == ()


def test_customers_who_are_late_already_are_named_where_a_repair_changes_that() -> None:
    """T1 is still at S1 at 10:00, so S2 and S3 are late; cancelling T2's S31 is nothing to them."""
    state = day_of(
        {"T1": [work(1), work(2), work(3)], "T2": [work(30), work(31)]},
        event(2, Kind.STARTED, "08:01", "T1", "S1/1"),
    )
    one = upset(state, StopCancelled("S31/1"), at="10:00")
    keep = _offer(one, upset(state, at="10:00"))["keep-order"]
    assert [new.visit_id for new in keep.new_times] == ["S31/1"]


def test_a_longer_job_tells_the_time_now_and_the_time_after() -> None:
    """S2 stands at 10:01, an hour and a half late; 30 min more at S1 make it 10:31."""
    state = day_of({"T1": [work(1), work(2)]}, event(2, Kind.STARTED, "08:01", "T1", "S1/1"))
    one = upset(state, JobOverrun("S1/1", 120 * 60), at="10:00")
    keep = _offer(one, upset(state, at="10:00"))["keep-order"]
    (second,) = [new for new in keep.new_times if new.visit_id == "S2/1"]
    before, after = second.start_before_s or 0, second.start_after_s or 0
    assert (format_time(before), format_time(after)) == ("10:01", "10:32")


def test_who_works_late_is_told_with_and_without_the_repair() -> None:
    """T2 ends 9:01 of a shift to 9:30; with S2 (30 min, 2 more of driving) at 9:33."""
    cells = [truck("T1"), truck("T2", "08:00-09:30")]
    state = day_of({"T1": [work(2)], "T2": [work(1, 59)]})
    one = upset(state, TechnicianOut("T1", EIGHT), cells=cells)
    found = _offer(one, upset(state, cells=cells))
    late = [(w.technician_id, w.over_s, w.before_s) for w in found["keep-order"].late_workers]
    assert late == [("T2", 3 * 60, 0)]
    (over,) = found["keep-order"].violations
    assert (over.rule, over.amount) == (Rule.OVERFULL, 3 * 60)


def test_a_late_start_moves_the_day_and_is_noted() -> None:
    """T1 sets out at 10:00: S1 at 10:01."""
    state = day_of({"T1": [work(1)]})
    one = upset(state, LateStart("T1", parse_time("10:00")))
    leave = _offer(one, upset(state))["keep-order"]
    assert format_time(leave.new_times[0].start_after_s or 0) == "10:01"
    assert leave.choice.noted.late == (("T1", parse_time("10:00")),)


def test_what_finds_no_place_may_go_to_another_day() -> None:
    """Nobody is left today; Tuesday has room for 10 min more of driving."""
    state = day_of({"T1": [work(5)]})
    tuesday = OtherDay("S5/1", DAY.replace(day=1, month=12), "T1", 600, 0)

    def elsewhere(works: object, _day: object) -> list[OtherDay]:
        return [tuesday]

    one = upset(state, TechnicianOut("T1", EIGHT))
    found = _offer(one, upset(state), elsewhere=elsewhere)
    assert [u.visit_id for u in found["keep-order"].unplaced] == ["S5/1"]
    other = found["other-day"]
    assert other.unplaced == ()
    assert [(gone.state, gone.to_day) for gone in other.choice.gone] == [("moved", tuesday.day)]
    assert other.cost_s < found["keep-order"].cost_s


def test_a_cancelled_stop_leaves_and_a_moved_one_says_where_to() -> None:
    """What leaves the day is told with its state."""
    state = day_of({"T1": [work(1), work(2)]})
    cancelled = _offer(upset(state, StopCancelled("S1/1")), upset(state))["keep-order"]
    assert cancelled.choice.ahead == {"T1": ("S2/1",)}
    assert [str(gone.state) for gone in cancelled.choice.gone] == ["cancelled"]
    day = DAY.replace(day=3, month=12)
    moved = _offer(upset(state, StopMoved("S1/1", day)), upset(state))["keep-order"]
    assert [(str(gone.state), gone.to_day) for gone in moved.choice.gone] == [("moved", day)]


def test_what_is_done_cannot_be_cancelled() -> None:
    """The dispatcher sees why instead of an option that would undo the past."""
    state = day_of({"T1": [work(1)]}, event(2, Kind.DONE, "08:31", "T1", "S1/1"))
    with pytest.raises(InvalidValue, match="is done"):
        upset(state, StopCancelled("S1/1"))
    with pytest.raises(InvalidValue, match="has no shift"):
        upset(state, TechnicianOut("T9", 0))


def _random_day(sites: list[int], people: int) -> dict[str, list[Work]]:
    routes: dict[str, list[Work]] = {f"T{n + 1}": [] for n in range(people)}
    for k, site in enumerate(sites):
        window = ("", "08:00-10:00", "", "13:00-14:00")[site % 4]
        locked = site % 5 == 0
        own = f"T{k % people + 1}"
        skills = frozenset({"media"}) if site % 7 == 0 else frozenset()
        routes[own].append(
            work(site, 20 + site, window, usual_technician_id=own if locked else None,
                 technician_locked=locked, skills=skills)
        )  # fmt: skip
    return routes


def _trigger(kind: int, site: int) -> Trigger:
    return (
        TechnicianOut("T1", parse_time("09:00")),
        UrgentStop(replace(work(site), visit_id="urgent")),
        LateStart("T1", parse_time("11:00")),
        StopCancelled(f"S{site}/1"),
        RunningLate(),
    )[kind]


SITES = st.lists(st.integers(1, 39), min_size=2, max_size=9, unique=True)


@settings(max_examples=20, deadline=None)
@given(SITES, st.integers(1, 3), st.integers(0, 4), st.integers(7, 13))
def test_no_option_breaks_a_rule_that_it_does_not_list(
    sites: list[int], people: int, kind: int, hour: int
) -> None:
    """Random days and upsets: every visit stands once or is listed, every broken rule is named."""
    routes = _random_day(sites, people)
    cells = [truck(who, skills=frozenset({"media"} if who == "T1" else ())) for who in routes]
    state = day_of(routes)
    one = upset(state, _trigger(kind, sites[0]), f"{hour:02d}:00", cells)
    before = upset(state, None, f"{hour:02d}:00", cells)
    for option in options(one, before, seed=1, rounds=50):
        placed = [v for visits in option.choice.ahead.values() for v in visits]
        listed = placed + [gone.visit_id for gone in option.choice.gone]
        assert sorted(listed) == sorted(one.state.visits)
        named = {(v.rule, v.subject) for v in option.violations}
        for who, visits in option.choice.ahead.items():
            works = [one.state.visits[visit].work for visit in visits]
            if who in one.pinned:
                continue
            for w in works:
                assert w.usual_technician_id in (None, who) or not w.technician_locked
                assert who == "T1" or not w.skills or (Rule.SKILL, w.visit_id) in named
            cell = next(s for s in one.rest.standings if s.technician_id == who)
            index = one.rest.standings.index(cell)
            order = [n for visit in visits for n, w in enumerate(one.rest.works)
                     if w.visit_id == visit]  # fmt: skip
            times = one.rest.times(index, order)
            for n, late_s in zip(order, times.late_s, strict=True):
                assert late_s == 0 or (Rule.WINDOW, one.rest.works[n].visit_id) in named
            assert times.overfull_s == 0 or (Rule.OVERFULL, who) in named


def test_an_urgent_stop_takes_no_locked_visit_of_its_site_to_somebody_else() -> None:
    """S25 is locked to T1. With the urgent visit at the same pool T2 would drive less alone."""
    state = day_of(_random_day([25, 1, 2, 30], 2))
    cells = [truck("T1", skills=frozenset({"media"})), truck("T2")]
    one = upset(state, _trigger(1, 25), "07:00", cells)
    before = upset(state, None, "07:00", cells)
    found = options(one, before, seed=1, rounds=50)
    assert all("S25/1" in option.choice.ahead["T1"] for option in found)
    assert not any(option.violations for option in found)


@settings(max_examples=15, deadline=None)
@given(SITES, st.integers(2, 3))
def test_both_engines_together_are_never_dearer_than_either(sites: list[int], people: int) -> None:
    """The better answer is kept, group by group, and the same seed gives it again."""
    routes = _random_day(sites, people)
    one = upset(day_of(routes), TechnicianOut("T1", EIGHT))
    f = field_of(one.rest)
    plain = inserted(f, one.rest.base, one.wanted)
    own = own_search(f, plain.orders, seed=1, rounds=ROUNDS)
    general = general_search(f, plain.orders, seed=1, rounds=30)
    both = best_rest(f, plain.orders, seed=1, rounds=ROUNDS, general_rounds=30)
    assert both.cost_s <= min(own.cost_s, general.cost_s) <= plain.cost_s
    assert both == best_rest(f, plain.orders, seed=1, rounds=ROUNDS, general_rounds=30)
    assert combined(f, own, general).cost_s <= min(own.cost_s, general.cost_s)
    assert cost_of(f, both.orders) == both.cost_s


def test_the_search_finds_the_best_order_of_a_small_day() -> None:
    """Against every one of the 120 orders of five stops, two of them with windows."""
    from itertools import permutations

    stops = [
        work(9),
        work(3, window="08:00-09:00"),
        work(20),
        work(1),
        work(14, window="10:00-10:30"),
    ]
    one = upset(day_of({"T1": stops}), threshold_min=0)
    f = field_of(one.rest)
    least = min(cost_of(f, [order]) for order in permutations(range(5)))
    assert own_search(f, one.rest.base, seed=1, rounds=ROUNDS).cost_s == least


def test_the_search_reckons_as_the_timetable_does() -> None:
    """Driving, waiting and lateness of an order are those that the checks will find."""
    stops = [work(9), work(3, window="08:00-09:00"), work(20, window="11:00-12:00")]
    one = upset(day_of({"T1": stops}), threshold_min=0)
    f, times = field_of(one.rest), one.rest.times(0, (0, 1, 2))
    cost = one.rest.drive_s(0, (0, 1, 2)) + times.wait_s + 8 * sum(times.late_s)
    assert cost_of(f, [(0, 1, 2)]) == cost
    assert np.array(times.late_s).sum() > 0 or times.wait_s > 0
