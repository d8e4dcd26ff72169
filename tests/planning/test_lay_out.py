"""From the book's values to the problem that one run works on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from dispatch.clock import parse_time
from dispatch.drive.matrix import DriveMatrix
from dispatch.places import Place
from dispatch.planning.lay_out import build_problem
from dispatch.planning.problem import Hours, Problem, Supply
from dispatch.service_plan import Priority, VisitKind
from dispatch.sites import Rhythm, ServicePlan, Site, TimeWindow
from dispatch.technicians import Break, Overtime, Shift, SupplyStop, Technician
from dispatch.upkeep import UpkeepDue
from dispatch.visits import VisitsDue
from tests.planning.weeks import FRI, MINUTE, MON, NOON, THU, TUE, WEEK, upkeep

HERE = Place(31, -130)
PLACES = ("end:T1", "site:S1", "start:T1", "supply:T1")
SHIFT = Shift(parse_time("07:00"), parse_time("15:00"))  # eight hours


def technician(**rules: Any) -> Technician:
    """Works Monday to Friday."""
    return Technician("T1", "Ana", (SHIFT,) * 5 + (None, None), HERE, HERE, **rules)


def laid_out(
    worker: Technician,
    due: Sequence[VisitsDue] = (),
    items: Sequence[UpkeepDue] = (),
    places: tuple[str, ...] = PLACES,
    rhythm: Rhythm = Rhythm.WEEKLY,
) -> Problem:
    site = Site("S1", "Pool", "", HERE, ServicePlan(rhythm, 30))
    drive = np.full((len(places), len(places)), 600, dtype=np.int32)
    np.fill_diagonal(drive, 0)
    return build_problem(WEEK, [site], [worker], due, items, DriveMatrix(places, drive, drive))


def due(**facts: Any) -> VisitsDue:
    """One visit of half an hour on Monday."""
    return VisitsDue("S1", WEEK, ((MON,),), (30,), **facts)


def test_a_technician_without_rules_has_plain_truck_days() -> None:
    """Five days that end with the shift, alone, with nothing to refill and no rule of hours."""
    week = laid_out(technician())
    assert [cell.day.weekday() for cell in week.cells] == [0, 1, 2, 3, 4]
    one = week.cells[0]
    assert (one.regular_end_s, one.last_end_s) == (SHIFT.end_s, SHIFT.end_s)
    assert (one.crew, one.supply, week.hours) == (1, None, ())


def test_slack_is_a_share_of_the_shift() -> None:
    """15 % of eight hours are 72 minutes: the planned day ends at 13:48."""
    one = laid_out(technician(slack_share=0.15)).cells[0]
    assert (one.slack_s, one.regular_end_s) == (72 * MINUTE, parse_time("13:48"))


@pytest.mark.parametrize(
    ("day_most_min", "meal", "overtime_min"),
    [
        (540, None, 60),  # nine hours of work, eight of shift
        (540, NOON, 90),  # the meal of 30 min is not work
        (400, None, 0),  # shorter than the shift: nothing beyond it
        (1440, None, 540),  # the day ends at midnight, nine hours after 15:00
    ],
)
def test_overtime_of_a_day_is_what_its_most_leaves_beyond_the_shift(
    day_most_min: int, meal: Break | None, overtime_min: int
) -> None:
    """The truck may be out for the longest day and the meal."""
    rule = Overtime(day_most_min, week_most_min=3000, pay_factor=2.0)
    one = laid_out(technician(overtime=rule, meal=meal)).cells[0]
    assert (one.overtime_s, one.pay_factor) == (overtime_min * MINUTE, 2.0)


def test_overtime_is_a_rule_of_the_week_too() -> None:
    """40 regular hours unless told otherwise, 50 at the most."""
    rule = Overtime(day_most_min=600, week_most_min=3000)
    expected = Hours("T1", regular_s=144_000, most_s=180_000, pay_factor=1.5)
    assert laid_out(technician(overtime=rule)).hours == (expected,)


def test_the_crew_is_that_of_the_weekday() -> None:
    """A helper rides along on Thursdays."""
    week = laid_out(technician(crew=(1, 1, 1, 2, 1, 1, 1)))
    assert {cell.day: cell.crew for cell in week.cells}[THU] == 2
    assert sum(cell.crew for cell in week.cells) == 6


def test_the_supply_stop_is_a_row_of_the_matrix() -> None:
    """20 paid minutes at the shop; a shop that the streets do not reach is none."""
    worker = technician(supply=SupplyStop(HERE, 20), chemicals_most_kg=90.0)
    one = laid_out(worker).cells[0]
    assert (one.supply, one.chemicals_most_kg) == (Supply(3, 20 * MINUTE), 90.0)
    assert laid_out(worker, places=PLACES[:3]).cells[0].supply is None


@pytest.mark.parametrize(
    ("priority", "importance"),
    [(Priority.HIGH, 2.0), (Priority.NORMAL, 1.0), (Priority.CAN_WAIT, 0.5)],
)
def test_priority_multiplies_the_price_of_leaving_a_visit_out(
    priority: Priority, importance: float
) -> None:
    """Our own figures; only their order matters to a dispatcher."""
    (one,) = laid_out(technician(), [due(priority=priority)]).demands
    assert one.importance == importance


def test_what_a_visit_needs_reaches_the_problem() -> None:
    """Windows, persons, technicians not wanted, and both kinds of load: 5 kg and 8 regulated."""
    windows = (TimeWindow(28_800, 36_000), TimeWindow(43_200, 46_800))
    visits = due(
        windows=windows,
        crew=2,
        unwanted_technician_ids=frozenset({"T9"}),
        skills=frozenset({"gate-key"}),
        mass_kg=5.0,
        chemicals_kg=8.0,
    )
    (one,) = laid_out(technician(), [visits]).demands
    assert (one.windows, one.crew, one.skills) == (windows, 2, frozenset({"gate-key"}))
    assert one.unwanted_technician_ids == frozenset({"T9"})
    assert (one.load_kg, one.chemicals_kg) == (13.0, 8.0)


def test_each_visit_of_a_week_has_its_own_minutes() -> None:
    """The first visit of a service 45 min, the second 30."""
    visits = VisitsDue("S1", WEEK, ((MON, THU),), (45, 30), kind=VisitKind.FIRST)
    (one,) = laid_out(technician(), [visits]).demands
    assert [one.seconds_of(n) for n in (0, 1)] == [45 * MINUTE, 30 * MINUTE]


@pytest.mark.parametrize("kind", list(VisitKind))
def test_upkeep_rides_only_on_regular_and_first_visits(kind: VisitKind) -> None:
    """A burst or a follow-up has other work to do: its upkeep is named as without a visit."""
    item = upkeep("S1", due=MON, latest=FRI)
    week = laid_out(technician(), [due(kind=kind)], [item])
    rides = kind in (VisitKind.REGULAR, VisitKind.FIRST)
    assert week.demands[0].upkeep == ((item,) if rides else ())
    assert [one for one, _ in week.stranded_upkeep] == ([] if rides else [item])


def test_upkeep_of_a_site_with_a_follow_up_rides_on_its_regular_visit_alone() -> None:
    """Two demands of one site: the item stands in one of them, once."""
    item = upkeep("S1", due=MON, latest=FRI)
    again = replace(due(kind=VisitKind.FOLLOW_UP), demand_id="F1", patterns=((TUE,),))
    week = laid_out(technician(), [due(), again], [item])
    assert [(one.visit_ids[0], one.upkeep) for one in week.demands] == [
        ("F1/2026-W49/1", ()),
        ("S1/2026-W49/1", (item,)),
    ]


def test_upkeep_waits_for_the_next_visit_that_comes_in_time() -> None:
    """Wanted on Tuesday of next week: with a weekly visit it waits, with a visit in two weeks not.

    The week's Monday is 2026-11-30; the next visits are 2026-12-07 and 2026-12-14.
    """
    item = upkeep("S1", due=WEEK.next.days[1], latest=WEEK.next.days[4])
    assert item.wanted_on == WEEK.next.days[1]
    weekly = laid_out(technician(), [due()], [item])
    fortnightly = laid_out(technician(), [due()], [item], rhythm=Rhythm.EVERY_2_WEEKS)
    told = laid_out(technician(), [due(next_visit_on=WEEK.next.days[2])], [item])
    assert [len(one.demands[0].upkeep) for one in (weekly, fortnightly, told)] == [0, 1, 1]
