"""Long searches, which begin several times and finish what begins best."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dispatch.planning import search as searching
from dispatch.planning.anneal import construct
from dispatch.planning.arrays import Arrays
from dispatch.planning.check import violations
from dispatch.planning.progress import Progress
from dispatch.planning.routes import INCOMPLETE, Routes, Undo
from dispatch.planning.search import MOST_HEATS, search
from dispatch.planning.week import plan_problem
from tests.planning.test_search import company

WEEK = company(12, 2)
PER_SITE = 10  # rounds, so that a test takes no minute
LONG = PER_SITE * 12  # rounds of one beginning and its end


@pytest.fixture(autouse=True)
def quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Begin anew after few rounds, and report often."""
    monkeypatch.setattr(searching, "ENOUGH_PER_SITE", PER_SITE)
    monkeypatch.setattr(searching, "ENOUGH", LONG)
    monkeypatch.setattr(searching, "STOPS_PER_CHUNK", 120)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.integers(0, 2 * MOST_HEATS * LONG), st.integers(1, 3))
def test_it_takes_the_rounds_that_were_asked_for(iterations: int, runs: int) -> None:
    """The progress on the page ends at its end, and cost never rises on the way."""
    seen: list[Progress] = []
    found = search(WEEK, seed=2, iterations=iterations, runs=runs, report=seen.append)
    assert found.iterations == seen[-1].iteration == seen[-1].iterations == iterations
    costs = [one.best_cost_s for one in seen]
    assert costs == sorted(costs, reverse=True)
    assert found.cost_s == costs[-1]


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The chances that each beginning draws from."""
    found: list[int] = []

    def first_plan(a: Arrays, s: Routes, undo: Undo, rng: np.random.Generator) -> None:
        if s.counts[INCOMPLETE] == len(s.unit):  # nothing is placed yet
            found.append(rng.bit_generator.state["state"]["state"])
        construct(a, s, undo, rng)

    monkeypatch.setattr(searching, "construct", first_plan)
    return found


def test_it_begins_anew_each_time_from_other_chances(begun: list[int]) -> None:
    """Four beginnings of two runs are neither one slower search nor eight times the same."""
    search(WEEK, seed=5, iterations=5 * LONG // 2, runs=2)
    assert len(begun) == len(set(begun)) == 8


def test_another_seed_begins_elsewhere_each_time(begun: list[int]) -> None:
    """Whoever tries the next seed looks for other plans, not for seven of the same eight."""
    for seed in (5, 6):
        search(WEEK, seed=seed, iterations=5 * LONG // 2)
    assert len(begun) == len(set(begun)) == 8


def test_a_plan_at_hand_is_begun_with_once() -> None:
    """What customers are used to is gone on with, however long the search."""
    before = search(WEEK, seed=1, iterations=50)
    after = search(WEEK, seed=2, iterations=20 * LONG, start=before.routes)
    assert after.cost_s <= before.cost_s


def test_stopped_in_a_later_beginning_it_gives_the_best_of_all() -> None:
    """Whoever stops it gets no plan that is worse than one seen before."""
    seen: list[Progress] = []
    plan = plan_problem(
        WEEK,
        iterations=20 * LONG,
        progress=seen.append,
        should_stop=lambda: seen[-1].iteration > 6 * LONG,
    )
    assert plan.cost_s == min(one.best_cost_s for one in seen)
    assert plan.iterations < 20 * LONG
    assert not violations(WEEK, plan)


def test_it_is_the_same_plan_each_time() -> None:
    """However the cores share the work."""
    found = [search(WEEK, seed=4, iterations=4 * LONG, runs=2) for _ in range(2)]
    assert found[0] == found[1]
