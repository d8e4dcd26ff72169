"""Forecasts of lives against invented histories whose truth is known."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from dispatch.errors import InvalidValue
from dispatch.upkeep_forecast import (
    DUE_AT,
    HIGH,
    LOW,
    Fleet,
    Forecast,
    Lives,
    Remaining,
    day_after,
    fit_fleet,
    forecast_words,
    remaining,
)
from tests.fleets import USUAL_DAYS, fleet

FLEET = Fleet(mean=6.999, sigma=0.15, tau=0.30)  # e^6.999 is 1,096 days


def _left(lives: Lives, fitted: Fleet) -> Remaining:
    (found,) = remaining(fitted, [lives])
    return found


def test_the_interval_holds_the_truth_as_often_as_it_says_and_beats_the_calendar() -> None:
    """80 % said; 75 to 85 % wanted. The calendar dates every part by the same three years."""
    drawn = list(fleet(400, seed=11))
    fitted = fit_fleet([lives for lives, _ in drawn][:150], USUAL_DAYS)
    held, error, calendar_error, late, calendar_late = 0, 0.0, 0.0, 0, 0
    parts = remaining(fitted, [lives for lives, _ in drawn])
    for (lives, truth), found in zip(drawn, parts, strict=True):
        held += found.low <= truth <= found.high
        calendar = max(0.0, USUAL_DAYS - (lives.age or 0))
        error += abs(found.due - truth)
        calendar_error += abs(calendar - truth)
        late += found.due > truth
        calendar_late += calendar > truth
    assert 0.75 <= held / len(drawn) <= 0.85
    assert error < 0.7 * calendar_error
    assert late < calendar_late


def test_a_fleet_is_found_again_in_its_lives() -> None:
    """Mean 1,096 days, 15 % within and 30 % between sites, to within a third."""
    fitted = fit_fleet([lives for lives, _ in fleet(150, seed=3)], usual=800.0)
    assert fitted.mean == pytest.approx(FLEET.mean, abs=0.1)
    assert fitted.tau == pytest.approx(0.30, rel=0.35)
    assert fitted.sigma == pytest.approx(0.15, rel=0.35)


def test_without_any_history_the_calendar_rule_speaks() -> None:
    """A new company's first forecast is its table, with a wide interval."""
    fitted = fit_fleet([], USUAL_DAYS)
    found = _left(Lives("S1", age=0.0), fitted)
    assert 0.7 * USUAL_DAYS < found.due < 1.1 * USUAL_DAYS
    assert found.high > 1.7 * found.low


def test_short_lives_at_a_site_shorten_its_forecast_but_not_all_the_way() -> None:
    """Shrunk: between the site's own 500 days and the fleet's 1,096."""
    found = _left(Lives("S1", (500.0,), age=0.0), FLEET)
    surer = _left(Lives("S1", (500.0, 500.0, 500.0), age=0.0), FLEET)
    assert 480 < surer.due < found.due < 900


def test_what_the_eye_sees_counts() -> None:
    """Three quarters left after 400 days: half of the way to one half, so about 400 more."""
    seen = _left(Lives("S1", (), 400.0, 0.75, 400.0), FLEET)
    blind = _left(Lives("S1", (), 400.0), FLEET)
    assert seen.due < blind.due
    assert seen.low < 400 < seen.high
    nearly_new = _left(Lives("S1", (), 400.0, 0.95, 400.0), FLEET)
    assert nearly_new.due == pytest.approx(blind.due)  # too little worn to say anything


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.floats(30, 4000), max_size=4),
    st.floats(0, 4000),
    st.none() | st.floats(0, 1),
)
def test_a_forecast_is_in_order_whatever_the_history(
    ended: list[float], age: float, left: float | None
) -> None:
    """Low before due before high, none of them in the past."""
    found = _left(Lives("S1", tuple(ended), age, left, age or None), FLEET)
    assert 0 <= found.low <= found.due <= found.high


def test_each_site_is_forecast_from_its_own_lives_among_others() -> None:
    """By plain sums over the site means, one site after another (Bayes' rule; own reckoning)."""
    drawn = [lives for lives, _ in fleet(30, seed=4)]
    means = np.linspace(-4, 4, 4001) * FLEET.tau + FLEET.mean
    for lives, found in zip(drawn, remaining(FLEET, drawn), strict=True):
        if lives.left is not None:
            continue
        weights = norm.pdf(means, FLEET.mean, FLEET.tau)
        for life in lives.ended:
            weights = weights * norm.pdf(math.log(life), means, FLEET.sigma)
        age = lives.age or 1e-9
        lasting = [
            float(weights @ norm.sf(math.log(age + more), means, FLEET.sigma))
            for more in (0.0, found.low, found.due, found.high)
        ]
        ended = [1 - one / lasting[0] for one in lasting[1:]]
        assert ended == pytest.approx([LOW, DUE_AT, HIGH], abs=1e-3)


def test_bad_lives_are_refused() -> None:
    """Two changes on one day are a slip."""
    with pytest.raises(InvalidValue, match="not above zero"):
        Lives("S1", (0.0,))
    with pytest.raises(InvalidValue, match="usual life of 0"):
        fit_fleet([], 0)


def test_the_words_say_the_interval_and_what_it_rests_on() -> None:
    """A date without its spread would be taken for a promise."""
    found = Forecast(
        "S1", "anode-swap", "Anode swap", date(2027, 9, 3), date(2027, 4, 1), date(2028, 5, 2), 1
    )
    assert forecast_words(found) == (
        "Anode swap: about Sep 2027, with 80 % likelihood between Apr 2027 and May 2028 (one "
        "earlier life at this site, and the fleet)."
    )
    assert day_after(date(2026, 1, 1), 1e12).year == 2085
