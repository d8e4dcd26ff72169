"""What holds for every plan of every week, tried on weeks that nobody would think of."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from dispatch.clock import format_span
from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.problem import Cell, Demand, Hours, Problem, Supply
from dispatch.planning.score import cost_s
from dispatch.planning.search import search
from dispatch.planning.week import write_plan
from dispatch.technicians import Break
from tests.planning.weeks import MON, THU, TUE, cell, demand, on_a_line, problem, upkeep

DAYS = (MON, TUE, THU)
SKILLS = ("media", "heater")

times = st.integers(6 * 60, 23 * 60).map(lambda minute: minute // 15 * 15)


def span(begin: int, minutes: int) -> str:
    """Two times of day in one word; in the evening the second lies past midnight."""
    return format_span(begin * 60, (begin + minutes) * 60).replace(" ", "")


@st.composite
def cells(draw: st.DrawFn, technician: int) -> list[Cell]:
    """One technician's days: short, long and night shifts, impossible meals, small trucks."""
    hours = span(draw(times), draw(st.sampled_from([60, 240, 510])))
    meal = draw(
        st.none()
        | st.builds(lambda earliest: Break(30, earliest * 60, (earliest + 60) * 60), times)
    )
    skills = draw(st.sets(st.sampled_from(SKILLS)))
    payload = draw(st.sampled_from([0.0, 100.0, 250.0]))
    days = draw(st.sets(st.sampled_from(DAYS)))
    plain = cell(
        f"T{technician}",
        MON,
        hours,
        start=technician,
        skills=sorted(skills),
        payload_kg=payload,
        meal=meal,
    )
    return [replace(draw(trucks(plain)), day=day) for day in sorted(days)]


@st.composite
def trucks(draw: st.DrawFn, plain: Cell) -> Cell:
    """The truck-day with the rules that only some companies have."""
    shift_s = plain.shift.end_s - plain.shift.start_s
    return replace(
        plain,
        slack_s=draw(st.sampled_from([0, 0, shift_s // 10, shift_s // 2])),
        overtime_s=draw(st.sampled_from([0, 0, 1800, 5400])),
        pay_factor=draw(st.sampled_from([1.0, 1.5, 2.25])),
        crew=draw(st.sampled_from([1, 1, 2])),
        chemicals_most_kg=draw(st.sampled_from([0.0, 20.0, 45.0, 200.0])),
        supply=draw(st.none() | st.builds(Supply, st.sampled_from([0, 1]), st.just(900))),
    )


@st.composite
def demands(draw: st.DrawFn, number: int, place: int) -> Demand:
    """One site: any rhythm, window, lock, skill, load and upkeep, sensible or not."""
    choices: list[tuple[date | tuple[date, ...], ...]] = [
        (MON,),
        (TUE,),
        (MON, TUE, THU),
        ((MON, THU),),
        ((MON, TUE), (TUE, THU)),
    ]
    days = draw(st.sampled_from(choices))
    first = draw(times)
    window, later = span(first, 90), span(first + 180, 20)
    site = f"S{number}"
    items = [
        upkeep(
            site,
            kind,
            latest=MON + timedelta(days=draw(st.integers(0, 60))),
            skill=draw(st.sampled_from([None, "media"])),
            mass_kg=draw(st.sampled_from([0, 80, 150])),
        )
        for kind in sorted(draw(st.sets(st.sampled_from(["sand-change", "anode-swap"]))))
    ]
    usual = draw(st.sampled_from([None, "T0", "T1"]))
    plain = demand(
        site,
        place,
        *days,
        minutes=draw(st.integers(5, 200)),
        window=draw(st.sampled_from(["", window, f"{window} {later}"])),
        skills=sorted(draw(st.sets(st.sampled_from(SKILLS), max_size=1))),
        usual=usual,
        locked=usual is not None and draw(st.booleans()),
        weekdays=draw(st.sampled_from([[], [0], [1]])),
        upkeep=items,
        load_kg=draw(st.sampled_from([0.0, 0.0, 60.0])),
    )
    return draw(agreements(plain))


@st.composite
def agreements(draw: st.DrawFn, plain: Demand) -> Demand:
    """The site with what only some customers need, and visits that must stay where they are."""
    count = len(plain.visit_ids)
    kg = draw(st.sampled_from([0.0, 12.0, 30.0]))
    stays = st.none() | st.tuples(st.sampled_from(["T0", "T1"]), st.sampled_from(DAYS))
    return replace(
        plain,
        load_kg=plain.load_kg + kg,
        chemicals_kg=kg,
        crew=draw(st.sampled_from([1, 1, 1, 2])),
        unwanted_technician_ids=frozenset(draw(st.sampled_from(["", "", "T0", "T1"])).split()),
        importance=draw(st.sampled_from([0.5, 1.0, 2.0])),
        off_rhythm=draw(st.sampled_from([(), (), ((MON, 3),), ((TUE, 1), (THU, 5))])),
        extra_s=draw(st.sampled_from([(), (900, 0)[:count]])),
        kept=draw(st.just(()) | st.tuples(*[stays] * count)),
    )


@st.composite
def hours(draw: st.DrawFn, technician: str) -> Hours:
    """A week that may hold little, is overtime early, or is to be like everybody's."""
    of_work = st.none() | st.integers(0, 16).map(lambda half_hours: 1800 * half_hours)
    return Hours(
        technician,
        regular_s=draw(of_work),
        most_s=draw(of_work),
        pay_factor=draw(st.sampled_from([1.0, 1.5])),
        target_s=draw(of_work),
        band_s=draw(st.sampled_from([0, 1200])),
        spent_s=draw(st.sampled_from([0, 0, 3600])),
    )


@st.composite
def weeks(draw: st.DrawFn) -> Problem:
    """Two technicians and up to seven sites, with drive times that break the triangle rule."""
    crew = [one for technician in range(2) for one in draw(cells(technician))]
    sites = draw(st.integers(0, 7))
    seed = draw(st.integers(0, 10_000))
    drive = np.random.default_rng(seed).integers(0, 3000, (sites + 2, sites + 2))
    np.fill_diagonal(drive, 0)
    sites_due = [draw(demands(n, n + 2)) for n in range(sites)]
    rules = tuple(
        draw(hours(name)) for name in sorted(draw(st.sets(st.sampled_from(["T0", "T1"]))))
    )
    return replace(problem(drive.astype(np.int64), crew, sites_due), hours=rules)


@st.composite
def full_mornings(draw: st.DrawFn) -> Problem:
    """Two trucks that may carry chemicals for two pools, a shop on the road, hardly time for all.

    Meals, windows and caps on the week leave few ways, so that each shortcut shows.
    """
    pools = draw(st.integers(4, 7))
    at = [0, *(draw(st.integers(0, 60)) for _ in range(pools)), draw(st.integers(0, 40))]
    meal = Break(30, 9 * 3600, 10 * 3600)
    truck = replace(
        cell(hours="07:00-11:30", meal=draw(st.sampled_from([meal, meal, None]))),
        chemicals_most_kg=25.0,
        supply=Supply(pools + 1, 600),
        overtime_s=draw(st.sampled_from([0, 1800])),
    )
    windows = ["", "08:00-10:00", "07:30-08:00 09:30-11:00"]
    sites = [
        replace(
            demand(
                f"S{n}",
                n,
                minutes=draw(st.sampled_from([30, 45, 60])),
                window=draw(st.sampled_from(windows)),
                usual=draw(st.sampled_from([None, "T0", "T1"])),
            ),
            chemicals_kg=9.0,
        )
        for n in range(1, pools + 1)
    ]
    crew = [replace(truck, technician_id=name, technician_name=name) for name in ("T0", "T1")]
    cap_s = draw(st.none() | st.integers(3, 5).map(lambda hours: 3600 * hours))
    caps = [Hours(name, regular_s=cap_s, most_s=(cap_s or 0) + 1800) for name in ("T0", "T1")]
    week = problem(on_a_line(*at), crew, sites)
    return replace(week, hours=tuple(caps) if cap_s else ())


def plan_of(week: Problem) -> WeekPlan:
    return write_plan(week, search(week, seed=3, iterations=60), seed=3)


@settings(max_examples=150, deadline=None)
@given(weeks())
def test_no_plan_breaks_a_rule_or_loses_a_visit(week: Problem) -> None:
    """Shift, meal, window, skill, lock, payload, pattern; every visit and upkeep exactly once."""
    assert violations(week, plan_of(week)) == ()


@settings(max_examples=200, deadline=None)
@given(full_mornings())
def test_no_full_morning_breaks_a_rule(week: Problem) -> None:
    """Where meal, supply stop, windows and hours meet."""
    assert violations(week, plan_of(week)) == ()


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_the_cost_is_what_the_plan_itself_costs(week: Problem) -> None:
    """The search keeps its books by differences; the score adds the plan up anew.

    Of one window at each site there is nothing left to choose when a plan is written down.
    """
    single = tuple(replace(one, windows=one.windows[:1]) for one in week.demands)
    week = replace(week, demands=single)
    assume(week.demands and week.cells)
    found = search(week, seed=3, iterations=60)
    assert found.cost_s == cost_s(week, write_plan(week, found, seed=3))


@settings(max_examples=30, deadline=None)
@given(weeks())
def test_planning_twice_gives_the_same_plan(week: Problem) -> None:
    """Same problem, same seed, same number of rounds."""
    assert plan_of(week) == plan_of(week)


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_every_unplaced_visit_has_a_reason_for_every_truck_day(week: Problem) -> None:
    """A cell without a broken rule would be a place the search overlooked.

    Hours of the week are left out: visits of one site that fit into them one by one, but not
    together, may all be unplaced.
    """
    week = replace(week, hours=())
    plan = plan_of(week)
    for unplaced in plan.unplaced:
        refused = {(one.technician_id, one.day) for one in unplaced.cells}
        overlooked = {(one.technician_id, one.day) for one in week.cells} - refused
        assert unplaced.reason
        assert not overlooked, unplaced.reason
