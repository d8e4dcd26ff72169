"""How long anodes, salt cells and filter media will last: a site's history within the fleet's.

Model
    The logarithm of a life at a site is normal around the site's own mean with spread `sigma`;
    the sites' means are normal around the fleet's with spread `tau`. Fleet mean and spreads are
    fitted to all lives by maximum likelihood with weak priors at the calendar rule (empirical
    Bayes; lives that have not ended count as longer than their age). A site's forecast is that of
    its own lives shrunk toward the fleet's, given that the part has reached its age. What is left
    of an anode by eye counts as one more look at its life.
    Lives of cells are counted in run-hours where the hours a day are known, else in days.

Limits
    The interval is 80 %: one part in ten lives longer, one shorter. With few lives it is wide and
    leans on the calendar rule.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize
from scipy.special import log_ndtr, ndtr

from dispatch.errors import InvalidValue
from dispatch.upkeep_causes import day_words
from dispatch.words import _

Curve = npt.NDArray[np.float64]

SITES_MEANS = np.linspace(-4, 4, 81)  # in spreads of the sites' means
USUAL_SPREAD = 0.25  # of the logarithm of a life, within and between sites; common practice
PRIOR_SD = 0.5  # of the logarithms of mean and spreads: they may well be off by a half
EYE_SD = 0.08  # share of an anode by which judging by eye is off; common practice
LEAST_WORN = 0.1  # share; what is worn less says nothing about the life
LOW, HIGH = 0.1, 0.9  # the 80 % interval
DUE_AT = 0.4  # share of parts that may be done for when it is due: rather early than late


@dataclass(frozen=True, slots=True)
class Lives:
    """The lives of one kind of part at a site, in days or run-hours.

    `ended` are lives that ended with a change, `age` is that of the part in use. `left` is the
    share of it that was left at `left_at` (age), where somebody judged it; the part is changed
    when `spent_at` is left.
    """

    site_id: str
    ended: tuple[float, ...] = ()
    age: float | None = None
    left: float | None = None
    left_at: float | None = None
    spent_at: float = 0.5

    def __post_init__(self) -> None:
        if any(not life > 0 for life in self.ended) or (self.age is not None and self.age < 0):
            raise InvalidValue(
                _(
                    "A life at site {site} is not above zero: check the dates of the changes."
                ).format(site=self.site_id)
            )


@dataclass(frozen=True, slots=True)
class Fleet:
    """What all sites have in common: mean and spreads of the logarithm of a life."""

    mean: float
    sigma: float  # from life to life at one site
    tau: float  # from site to site


@dataclass(frozen=True, slots=True)
class Remaining:
    """What is left of a life: when it is due, and the 80 % interval; days or run-hours."""

    due: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a part at a site will have to be changed, as expected on a day."""

    site_id: str
    kind: str
    title: str
    due_on: date
    low_on: date
    high_on: date
    lives: int
    words: str = field(default="")


def fit_fleet(fleet: Sequence[Lives], usual: float) -> Fleet:
    """Mean and spreads of a fleet of lives, around the usual life where there are few.

    Parameters
    ----------
    fleet
        Lives of all sites.
    usual
        The calendar rule's life, in the unit of the lives.

    Raises
    ------
    InvalidValue
        When the usual life is not above zero.
    """
    if not usual > 0:
        raise InvalidValue(
            _("A usual life of {usual:g} is not believable: give more than 0.").format(usual=usual)
        )
    centre = math.log(usual)

    def price(guess: Curve) -> float:
        mean, sigma, tau = guess[0], math.exp(guess[1]), math.exp(guess[2])
        prior = ((mean - centre) / PRIOR_SD) ** 2
        prior += sum(((one - math.log(USUAL_SPREAD)) / PRIOR_SD) ** 2 for one in guess[1:])
        told = sum(_log_sum(_curve(one, Fleet(mean, sigma, tau))) for one in fleet)
        return 0.5 * float(prior) - told

    start = np.array([centre, math.log(USUAL_SPREAD), math.log(USUAL_SPREAD)])
    found = minimize(price, start, method="Nelder-Mead", options={"xatol": 1e-3, "fatol": 1e-3})
    mean, sigma, tau = found.x
    return Fleet(float(mean), float(math.exp(sigma)), float(math.exp(tau)))


def remaining(lives: Lives, fleet: Fleet) -> Remaining:
    """What is left of the part in use at a site; its age counts from 0 where it is not known."""
    weights = _curve(lives, fleet)
    weights = np.exp(weights - weights.max())
    means = fleet.mean + fleet.tau * SITES_MEANS
    spread, means = _seen_by_eye(lives, fleet, means)
    age = lives.age or 0.0
    beyond = weights * _beyond(age, means, spread)

    def ended_by(more: float) -> float:
        later = float((weights * _beyond(age + more, means, spread)).sum())
        return 1 - later / float(beyond.sum())

    longest = math.exp(fleet.mean + 8 * (fleet.sigma + fleet.tau))
    due, low, high = (_root(ended_by, share, longest) for share in (DUE_AT, LOW, HIGH))
    return Remaining(due, low, high)


def forecast_words(found: Forecast) -> str:
    """The forecast in a sentence, with its interval and what it rests on."""
    own = {0: _("no life of its own yet"), 1: _("one earlier life")}.get(
        found.lives, _("{lives} earlier lives").format(lives=found.lives)
    )
    return _(
        "{title}: about {due}, with 80 % likelihood between {low} and {high} ({own} at "
        "this site, and the fleet)."
    ).format(
        title=_(found.title),
        due=_month(found.due_on),
        low=_month(found.low_on),
        high=_month(found.high_on),
        own=own,
    )


def day_after(today: date, days: float) -> date:
    """The day so many days on, at most 60 years."""
    return today + timedelta(days=min(int(days), 60 * 365))


def _curve(lives: Lives, fleet: Fleet) -> Curve:
    """Log likelihood of a site's lives, with the prior, at each of the possible site means."""
    means = fleet.mean + fleet.tau * SITES_MEANS
    curve = -0.5 * SITES_MEANS**2
    for life in lives.ended:
        curve = curve - 0.5 * ((math.log(life) - means) / fleet.sigma) ** 2 - math.log(fleet.sigma)
    estimate = _by_eye(lives)
    if estimate is not None:
        centre, error = estimate
        spread = math.hypot(fleet.sigma, error)
        curve = curve - 0.5 * ((centre - means) / spread) ** 2 - math.log(spread)
    elif lives.age:
        curve = curve + log_ndtr((means - math.log(lives.age)) / fleet.sigma)
    return np.asarray(curve, dtype=np.float64)


def _by_eye(lives: Lives) -> tuple[float, float] | None:
    """Logarithm of the life that wear so far points to, and its error; None without a look."""
    if lives.left is None or (lives.left_at or 0) < 1 or 1 - lives.left < LEAST_WORN:
        return None
    worn = 1 - lives.left
    return math.log((lives.left_at or 1) * (1 - lives.spent_at) / worn), EYE_SD / worn


def _seen_by_eye(lives: Lives, fleet: Fleet, means: Curve) -> tuple[float, Curve]:
    """Spread and means of the life in use, drawn toward what wear so far points to."""
    estimate = _by_eye(lives)
    if estimate is None:
        return fleet.sigma, means
    centre, error = estimate
    share = fleet.sigma**2 / (fleet.sigma**2 + error**2)
    spread = fleet.sigma * error / math.hypot(fleet.sigma, error)
    return spread, means + share * (centre - means)


def _beyond(age: float, means: Curve, spread: float) -> Curve:
    """Share of lives that last beyond an age, at each of the site means."""
    if age <= 0:
        return np.ones_like(means)
    return np.asarray(ndtr((means - math.log(age)) / spread), dtype=np.float64)


def _root(ended_by: Callable[[float], float], share: float, longest: float) -> float:
    low, high = 0.0, longest
    for _rest in range(60):
        middle = (low + high) / 2
        if ended_by(middle) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _log_sum(curve: Curve) -> float:
    top = float(curve.max())
    return top + math.log(float(np.exp(curve - top).sum()))


def _month(day: date) -> str:
    return day_words(day).split(" ", 1)[1]
