"""Upkeep spread over weeks."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.equipment import Equipment, Filter, Media, SaltCell
from dispatch.errors import Cancelled, InvalidValue
from dispatch.levelling.level import level
from dispatch.levelling.values import Levelling
from dispatch.places import Place
from dispatch.sites import Hold, Rhythm, ServicePlan, Site
from dispatch.technicians import Technician
from dispatch.upkeep_rules import DEFAULT_RULES, rule_of
from tests.levelling.companies import company, technician

TODAY = date(2026, 11, 25)
W49 = IsoWeek(2026, 49)
HERE = Place(33.45, -111.93)
ABLE = frozenset({"media"})
SAND = [rule_of("sand-change")]


def pool(number: int, equipment: Equipment, weekday: int = 0, minutes: int = 30) -> Site:
    plan = ServicePlan(
        Rhythm.WEEKLY, minutes, usual_technician_id="T01", usual_weekdays=frozenset({weekday})
    )
    return Site(f"S{number}", f"Invented {number}", "", HERE, plan, equipment=equipment)


def sand(done_on: date, mass_kg: float = 136.0) -> Equipment:
    return Equipment(filter=Filter(Media.SAND, done_on, mass_kg))


def check(made: Levelling, staff: list[Technician]) -> None:
    """No week, no truck-day and no window is broken: recomputed from what came out."""
    room = {(one.technician_id, one.week): one.room_min for one in made.rooms}
    payload = {one.id: one.payload_kg for one in staff}
    minutes: dict[tuple[str, IsoWeek], int] = defaultdict(int)
    mass_kg: dict[tuple[str, date], float] = defaultdict(float)
    for slot in made.slots:
        minutes[slot.technician_id, slot.week] += slot.job.minutes
        if slot.job.mass_kg >= 20:
            mass_kg[slot.technician_id, slot.day] += slot.job.mass_kg
        assert slot.day >= slot.job.earliest_on
        assert IsoWeek.of(slot.day) == slot.week
        if slot.job.latest_on >= made.first_week.sunday:
            assert slot.day <= slot.job.latest_on
    assert all(used <= room[key] for key, used in minutes.items())
    assert all(used <= payload[key[0]] + 1e-6 for key, used in mass_kg.items())
    assert made.bound <= made.cost + 1e-6


def test_two_media_changes_never_share_a_truck_day_that_cannot_carry_them() -> None:
    """Each carries 163.2 kg of wet sand back; a truck of 300 kg takes one a day, not two."""
    sites = [pool(n, sand(date(2021, 12, 1))) for n in range(3)]
    weak = [technician(1, skills=ABLE, payload_kg=300)]
    made = level(sites, weak, SAND, W49, 26)
    check(made, weak)
    assert len({slot.day for slot in made.slots}) == 3
    strong = [technician(1, skills=ABLE, payload_kg=600)]
    assert len({slot.day for slot in level(sites, strong, SAND, W49, 26).slots}) < 3


def test_a_full_week_hands_its_upkeep_to_a_slack_one() -> None:
    """Ten cell inspections due in one week: visits leave room for two in each."""
    cell = Equipment(salt_cell=SaltCell(date(2026, 1, 1), date(2026, 10, 1), date(2026, 10, 1)))
    sites = [pool(n, cell, weekday=n % 5, minutes=202) for n in range(10)]
    staff = [technician(1, skills=ABLE)]
    made = level(sites, staff, [rule_of("cell-inspection")], W49, 8)
    # 2,400 min less 12 % less 10 x (202 + 7.6) leave 16 min: three inspections of 5
    assert {one.room_min for one in made.rooms} == {16}
    assert len(made.slots) == 10
    assert not made.left_out
    check(made, staff)


def test_heavy_work_keeps_to_its_months_where_the_window_allows() -> None:
    """Sand of August 2022 is due in August 2027, but not before February: a cool month is found."""
    made = level([pool(1, sand(date(2022, 8, 1)))], [technician(1, skills=ABLE)], SAND, W49, 52)
    (slot,) = made.slots
    assert slot.day.month in rule_of("sand-change").months


def test_what_is_overdue_comes_in_the_first_week_with_room() -> None:
    """It must be done anyway."""
    made = level([pool(1, sand(date(2015, 1, 1)))], [technician(1, skills=ABLE)], SAND, W49, 26)
    assert [slot.week for slot in made.slots] == [W49]


def test_upkeep_rides_on_visits_that_take_place() -> None:
    """Held for three weeks, the pool is served in the fourth."""
    held = [Hold("S1", W49.monday, W49.monday + timedelta(days=20))]
    site = pool(1, sand(date(2015, 1, 1)))
    made = level([site], [technician(1, skills=ABLE)], SAND, W49, 8, holds=held)
    assert [slot.week for slot in made.slots] == [IsoWeek(2026, 52)]


def test_upkeep_that_a_hold_kept_off_is_done_once_and_not_made_up_for() -> None:
    """Looked at every three months, held from December to June: once after it, then three on."""
    cell = Equipment(salt_cell=SaltCell(date(2026, 1, 1), date(2026, 9, 1), date(2026, 9, 1)))
    held = [Hold("S1", W49.monday, date(2027, 6, 6))]
    rules = [rule_of("cell-inspection")]
    made = level([pool(1, cell)], [technician(1, skills=ABLE)], rules, W49, 52, holds=held)
    first, second = (slot.day for slot in made.slots)
    assert (first, made.left_out) == (date(2027, 6, 7), ())
    assert date(2027, 8, 7) <= second <= date(2027, 10, 7)


def test_a_pool_that_is_not_visited_lacks_no_hours() -> None:
    """The customer is away all the time; more hours or another technician would help nobody."""
    held = [Hold("S1", W49.monday, W49.monday + timedelta(days=100))]
    site = pool(1, sand(date(2021, 1, 1)))
    made = level([site], [technician(1, skills=ABLE)], SAND, W49, 8, holds=held)
    assert made.slots == ()
    assert "the pool is not visited between" in made.left_out[0].reason


def test_what_nobody_can_do_is_said_and_not_dropped() -> None:
    """The owner reads whom to train."""
    made = level(
        [pool(1, sand(date(2021, 12, 1)))], [technician(1, skills=frozenset())], SAND, W49, 9
    )
    assert made.slots == ()
    assert "nobody who may go there has the skill" in made.left_out[0].reason
    full = pool(1, sand(date(2021, 1, 1)), minutes=600)
    again = [full, *(replace(full, id=f"S{n}", equipment=Equipment()) for n in (2, 3, 4))]
    crowded = level(again, [technician(1, skills=ABLE)], SAND, W49, 5)
    assert "leaves room for 150 minutes" in crowded.left_out[0].reason


def test_a_job_goes_to_the_nearest_who_is_able() -> None:
    """The usual technician changes no media; of two who do, the one whose customers are near."""
    site = pool(1, sand(date(2021, 12, 1)))
    near = replace(pool(2, Equipment()), plan=replace(site.plan, usual_technician_id="T02"))
    far = replace(
        near, id="S3", place=Place(34, -111), plan=replace(site.plan, usual_technician_id="T03")
    )
    staff = [technician(1, skills=frozenset()), *(technician(n, skills=ABLE) for n in (2, 3))]
    (slot,) = level([site, near, far], staff, SAND, W49, 26).slots
    assert slot.technician_id == "T02"


def test_repeats_come_again_within_the_year() -> None:
    """A cell looked at in November is looked at every three months: four times in 52 weeks."""
    cell = Equipment(salt_cell=SaltCell(date(2026, 1, 1), date(2026, 11, 20), date(2026, 11, 20)))
    made = level(
        [pool(1, cell)], [technician(1, skills=ABLE)], [rule_of("cell-inspection")], W49, 52
    )
    assert [slot.job.number for slot in made.slots] == [1, 2, 3, 4]


def test_the_same_company_is_spread_the_same_way() -> None:
    """Without it a plan could not be repeated."""
    sites, staff = company(40, 2, TODAY, 3)
    one = level(sites, staff, DEFAULT_RULES, W49, 26)
    assert level(sites, staff, DEFAULT_RULES, W49, 26) == one
    assert one.gap <= 0.01


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10_000), st.integers(5, 40))
def test_nothing_is_overloaded_in_any_company(seed: int, count: int) -> None:
    """Random companies; everything recomputed, and each job set or left out once."""
    sites, staff = company(count, 2, TODAY, seed)
    made = level(sites, staff, DEFAULT_RULES, W49, 13)
    check(made, staff)
    ids = [slot.job.id for slot in made.slots] + [one.job.id for one in made.left_out]
    assert len(ids) == len(set(ids))


def test_a_horizon_that_is_none_is_refused_and_a_stop_is_obeyed() -> None:
    """A year is as far as anybody sees."""
    sites, staff = company(10, 1, TODAY, 1)
    for weeks in (0, 61):
        with pytest.raises(InvalidValue, match=f"{weeks} weeks cannot be levelled"):
            level(sites, staff, DEFAULT_RULES, W49, weeks)
    with pytest.raises(Cancelled, match="weeks set before stay"):
        level(sites, staff, DEFAULT_RULES, W49, 10, should_stop=lambda: True)
