"""Minutes learnt from simulated stays with known truth."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from statistics import mean

import pytest

from dispatch.records.learnt_minutes import kind_of_pool, learn_minutes
from dispatch.records.stays import Stay
from dispatch.rhythms import MonthDay, Rhythm, Season
from tests.records.simulated import FIRST_DAY, mean_error, simulate

SIMULATED = simulate(sites=30, visits=1, seed=1)


def test_after_eight_visits_the_error_is_at_least_halved() -> None:
    """200 sites whose true minutes are known: 32 % of the agreed minutes' error is left.

    Figures of `python -m tests.bench.learnt_minutes`; 4 % of the check-outs are forgotten.
    """
    made = simulate(visits=8, seed=3)
    learnt = learn_minutes(made.sites, made.stays, made.today).sites
    agreed = {site.id: float(site.plan.service_min) for site in made.sites}
    found = {site_id: one.learnt_min for site_id, one in learnt.items()}
    left = mean_error(found, made.truth_min) / mean_error(agreed, made.truth_min)
    assert left < 0.4


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    """80 % intervals over 1,000 simulated sites hold 75 to 87 % (the bench: 83 %)."""
    held = []
    for seed in range(5):
        made = simulate(visits=8, seed=seed)
        learnt = learn_minutes(made.sites, made.stays, made.today).sites
        held += [
            learnt[name].low_min <= true <= learnt[name].high_min
            for name, true in made.truth_min.items()
        ]
    assert 0.75 <= mean(held) <= 0.87


def test_forgotten_check_outs_move_little() -> None:
    """With one in ten forgotten a plain mean is 18 minutes off; what is learnt stays useful."""
    clean, dirty = (simulate(visits=8, seed=5, forgotten=share) for share in (0.0, 0.10))
    errors = [
        mean_error(
            {k: v.learnt_min for k, v in learn_minutes(m.sites, m.stays, m.today).sites.items()},
            m.truth_min,
        )
        for m in (clean, dirty)
    ]
    assert errors[1] < 1.8 * errors[0]


def test_a_site_nobody_has_been_to_is_as_its_kind() -> None:
    """Salt pools take a fifth longer than agreed here; so will the next one."""
    made = simulate(visits=8, seed=1, spread=0.05)
    new = replace(made.sites[2], id="NEW")
    learnt = learn_minutes([*made.sites, new], made.stays, made.today).sites["NEW"]
    assert learnt.learnt_min / learnt.agreed_min == pytest.approx(1.22 * 1.03, rel=0.06)
    assert learnt.visits == 0
    assert "No visit yet" in learnt.words
    assert learnt.actual_min is None


def test_paces_come_apart_from_the_sites() -> None:
    """A slow technician's pools are not long ones; stand-ins tell the two apart."""
    made = simulate(visits=30, seed=2, pace_spread=0.15)
    learnt = learn_minutes(made.sites, made.stays, made.today)
    error = mean(abs(one.factor - made.pace[one.technician_id]) for one in learnt.paces)
    assert error < 0.05
    spread = mean(abs(factor - 1) for factor in made.pace.values())
    assert error < 0.5 * spread


def test_a_site_that_changed_is_followed() -> None:
    """A hedge grew: 30 minutes became 45 a year ago, and the old year counts for little."""
    made = simulate(sites=30, visits=1, seed=1)
    site = made.sites[0]
    stays = [
        Stay(site.id, "T0", FIRST_DAY + timedelta(weeks=week), 30 if week < 52 else 45)
        for week in range(104)
    ]
    today = FIRST_DAY + timedelta(weeks=104)
    learnt = learn_minutes(made.sites, [*made.stays, *stays], today).sites[site.id]
    assert 40 < learnt.learnt_min < 47


def test_months_that_are_longer_everywhere_are_learnt() -> None:
    """Leaves fall in October: every visit takes a fifth longer."""
    made = simulate(visits=52, sites=60, seed=4)
    leaves = [
        replace(stay, minutes=stay.minutes * (1.2 if stay.day.month == 10 else 1.0))
        for stay in made.stays
    ]
    months = learn_minutes(made.sites, leaves, made.today).months
    usual = mean(factor for month, factor in enumerate(months) if month != 9)
    assert months[9] / usual == pytest.approx(1.2, abs=0.05)


def test_upkeep_is_learnt_apart_from_the_visit() -> None:
    """A sand change that took 180 minutes more, eight times: 2/3 of the way from 150."""
    made = simulate(visits=20, seed=6, forgotten=0, pace_spread=0, scatter=0.1)
    usual = made.truth_min
    changes = [
        Stay(site.id, "T0", made.today, usual[site.id] + 180, ("sand-change",))
        for site in made.sites[:8]
    ]
    learnt = learn_minutes(
        made.sites, [*made.stays, *changes], made.today, upkeep_min={"sand-change": 150}
    )
    (upkeep,) = learnt.upkeep
    assert upkeep.visits == 8
    assert upkeep.learnt_min == pytest.approx(150 + 30 * 8 / 12, abs=3)  # prior of four visits
    # The long visits have not made the sites longer.
    plain = learn_minutes(made.sites, made.stays, made.today).sites
    assert learnt.sites["S0"].learnt_min == pytest.approx(plain["S0"].learnt_min)


def test_nothing_recorded_leaves_what_was_agreed() -> None:
    """A company that begins has nothing to learn from."""
    made = simulate(sites=9, visits=1)
    learnt = learn_minutes(made.sites, [], date(2026, 11, 25))
    for site in made.sites:
        found = learnt.sites[site.id]
        assert found.learnt_min == pytest.approx(site.plan.service_min)
        assert found.planning_min == site.plan.service_min
    assert learnt.paces == ()


def test_planning_follows_no_further_than_half_and_twice() -> None:
    """A slip of all records at a site must not swallow a day."""
    made = simulate(sites=30, visits=1, seed=1)
    site = made.sites[0]
    stays = [Stay(site.id, "T0", made.today, 200) for _ in range(30)]
    learnt = learn_minutes(made.sites, [*made.stays, *stays], made.today).sites[site.id]
    assert learnt.learnt_min > 100
    assert learnt.planning_min == 2 * site.plan.service_min


def test_pools_of_a_kind_share_sanitizer_and_size() -> None:
    """What keeps the water clean and how much of it there is."""
    made = simulate(sites=3, visits=1)
    assert [kind_of_pool(site) for site in made.sites] == [
        "chlorine, small",
        "chlorine, middling",
        "salt, middling",
    ]


def test_work_outside_the_rhythm_says_nothing_of_a_usual_visit() -> None:
    """Three days of a green pool, 120 minutes each, at a pool of usual visits of 30."""
    site = replace(SIMULATED.sites[0], plan=replace(SIMULATED.sites[0].plan, service_min=30))
    weekly = [Stay(site.id, "T0", SIMULATED.today - timedelta(weeks=n), 30) for n in range(1, 5)]
    green = [
        Stay(site.id, "T0", SIMULATED.today - timedelta(days=n), 120, visit_id="one-off:a1/1")
        for n in range(1, 4)
    ]
    (alone,) = learn_minutes([site], weekly, SIMULATED.today).sites.values()
    (learnt,) = learn_minutes([site], [*weekly, *green], SIMULATED.today).sites.values()
    assert learnt == alone
    assert learnt.visits == 4


def test_a_first_visit_that_is_agreed_as_longer_says_nothing_of_the_next() -> None:
    """120 minutes agreed for the first, 30 for any other: the second is a usual one."""
    plan = replace(SIMULATED.sites[0].plan, service_min=30, first_service_min=120)
    site = replace(SIMULATED.sites[0], plan=plan)
    first, second = (SIMULATED.today - timedelta(weeks=n) for n in (2, 1))
    stays = [Stay(site.id, "T0", second, 30), Stay(site.id, "T0", first, 120)]
    (learnt,) = learn_minutes([site], stays, SIMULATED.today).sites.values()
    assert (learnt.visits, learnt.actual_min) == (1, 30)


def test_a_season_is_compared_with_its_own_minutes() -> None:
    """45 agreed and taken in summer, 30 for the rest of the year: nothing is to be learnt."""
    summer = Season(MonthDay(6, 1), MonthDay(8, 31), Rhythm.WEEKLY, 45)
    plan = replace(SIMULATED.sites[0].plan, service_min=30, seasons=(summer,))
    site = replace(SIMULATED.sites[0], plan=plan)
    stays = [Stay(site.id, "T0", date(2026, 7, 1) + timedelta(weeks=n), 45) for n in range(8)]
    (learnt,) = learn_minutes([site], stays, date(2026, 9, 1)).sites.values()
    assert learnt.learnt_min == pytest.approx(30, rel=0.03)
