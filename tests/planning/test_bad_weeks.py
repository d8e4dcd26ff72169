"""A week with one thing wrong: named before the search starts, and the rest of it planned.

What a service plan itself refuses (minutes that nobody works, two visits with one allowed day, a
usual technician who is not wanted) never comes this far: see `test_service_plan`.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from dispatch.drive.matrix import DriveMatrix
from dispatch.planning.lay_out import build_problem
from dispatch.planning.week import plan_problem
from dispatch.preflight import Cause, findings
from dispatch.service_plan import ServicePlan
from dispatch.sites import Rhythm
from dispatch.technicians import Shift, Technician
from dispatch.visits import visits_due
from dispatch.windows import TimeWindow
from tests.pools import FRIDAY_BEFORE, GATE, W49, pool

MON, TUE, WED, THU, FRI, SAT, SUN = W49.days
PLACES = tuple(sorted([*(f"{end}:T{n}" for end in ("end", "start") for n in (1, 2)), "site:S001"]))
SHIFT = Shift(7 * 3600, 15 * 3600)  # 8 h
ALMA = Technician("T1", "Invented Alma", (SHIFT,) * 5 + (None, None), GATE, GATE)
BEN = replace(ALMA, id="T2", name="Invented Ben")
WEEKLY = ServicePlan(Rhythm.WEEKLY, 30, last_visit_on=date(2026, 11, 26))
SOUND = pool(WEEKLY, id="S002")


def week(**change: Any) -> dict[str, Any]:
    """A sound week of two sites and two technicians with something changed."""
    plain = {
        "plan": WEEKLY,
        "technicians": (ALMA, BEN),
        "closed": frozenset[date](),
        "no_drive": {},
    }
    return plain | change


LOCKED: dict[str, Any] = {"usual_technician_id": "T1", "technician_locked": True}


@pytest.mark.parametrize(
    ("facts", "cause", "left_out", "why"),
    [
        (  # two locks that contradict each other: Alma, and a day on which she is off
            week(
                plan=replace(WEEKLY, **LOCKED, usual_weekdays=frozenset({0}), weekday_locked=True),
                technicians=(replace(ALMA, days_off=frozenset({MON})), BEN),
            ),
            Cause.NO_SHIFT,
            1,
            "locked to Invented Alma, who is off on Monday",
        ),
        (
            week(plan=replace(WEEKLY, **LOCKED), technicians=(BEN,)),
            Cause.UNKNOWN_TECHNICIAN,
            1,
            "locked to T1, who does not work this week",
        ),
        (
            week(plan=replace(WEEKLY, windows=(TimeWindow(5 * 3600, 6 * 3600),))),
            Cause.WINDOW,
            1,
            "min after its time window",
        ),
        (week(plan=replace(WEEKLY, service_min=600)), Cause.TOO_LONG, 1, "min beyond the shift"),
        (
            week(
                plan=replace(
                    WEEKLY, rhythm=Rhythm.TWICE_A_WEEK, allowed_weekdays=frozenset({0, 3})
                ),
                closed=frozenset({TUE, WED, THU, FRI}),
            ),
            Cause.FEWER_VISITS,
            0,
            "",
        ),
        (
            week(no_drive={"site:S001": "It lies 900 m off every street."}),
            Cause.DRIVE,
            1,
            "It lies 900 m off every street.",
        ),
    ],
    ids=["locks", "nobody", "window", "too-long", "one-day", "no-drive"],
)
def test_one_fault_is_named_before_the_search_and_the_rest_is_planned(
    facts: dict[str, Any], cause: Cause, left_out: int, why: str
) -> None:
    """Nobody waits for a search to be told, and no other customer pays for it."""
    sites = [pool(facts["plan"]), SOUND]
    due = visits_due(sites, W49, today=FRIDAY_BEFORE, holidays=facts["closed"]).due
    people, off_street = facts["technicians"], facts["no_drive"]
    named = findings(W49, sites, people, due, closed_days=facts["closed"], no_drive=off_street)
    assert cause in {one.cause for one in named if "S001" in one.thing}
    assert not [one for one in named if "S002" in one.thing]

    places = tuple(one for one in (*PLACES, "site:S002") if one not in off_street)
    drive = np.full((len(places), len(places)), 600, dtype=np.int32)
    np.fill_diagonal(drive, 0)
    problem = build_problem(
        W49,
        sites,
        people,
        due,
        (),
        DriveMatrix(places, drive, drive),
        closed_days=facts["closed"],
        no_drive=off_street,
    )
    plan = plan_problem(problem, iterations=20)
    assert "S002" in {stop.site_id for route in plan.routes for stop in route.stops}
    assert [one.site_id for one in plan.unplaced] == ["S001"] * left_out
    assert all(why in one.reason for one in plan.unplaced)


def test_a_week_in_which_everybody_is_off_is_named_and_nothing_due_is_lost() -> None:
    """Both are on holiday: every visit stands in the plan, with the reason."""
    off = [replace(one, days_off=frozenset(W49.days)) for one in (ALMA, BEN)]
    due = visits_due([SOUND], W49, today=FRIDAY_BEFORE).due
    (named,) = findings(W49, [SOUND], off, due)
    assert named.cause is Cause.NO_SHIFT

    places = (*PLACES[:-1], "site:S002")
    drive = np.zeros((len(places), len(places)), dtype=np.int32)
    problem = build_problem(W49, [SOUND], off, due, (), DriveMatrix(places, drive, drive))
    (unplaced,) = plan_problem(problem, iterations=20).unplaced
    assert "nobody works this week" in unplaced.reason
