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
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize
from scipy.special import log_ndtr, logsumexp, ndtr

from dispatch.errors import InvalidValue
from dispatch.upkeep_causes import day_words
from dispatch.words import _

Curve = npt.NDArray[np.float64]
NAN = float("nan")

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


class _Told(NamedTuple):
    """What sites tell of lives: (S, 1) each, not a number where a site does not tell it."""

    number: Curve  # of lives that have ended,
    total: Curve  # the sum of their logarithms,
    squares: Curve  # and that of the squares
    centre: Curve  # logarithm of the life that wear seen by eye points to,
    error: Curve  # and its error
    log_age: Curve  # of a part in use that nobody judged by eye


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
    centre, told = math.log(usual), _told(fleet)

    def price(guess: Curve) -> float:
        mean, sigma, tau = guess[0], math.exp(guess[1]), math.exp(guess[2])
        prior = ((mean - centre) / PRIOR_SD) ** 2
        prior += sum(((one - math.log(USUAL_SPREAD)) / PRIOR_SD) ** 2 for one in guess[1:])
        likely = logsumexp(_curves(told, Fleet(mean, sigma, tau)), axis=1)
        return 0.5 * float(prior) - float(likely.sum())

    start = np.array([centre, math.log(USUAL_SPREAD), math.log(USUAL_SPREAD)])
    found = minimize(price, start, method="Nelder-Mead", options={"xatol": 1e-3, "fatol": 1e-3})
    mean, sigma, tau = found.x
    return Fleet(float(mean), float(math.exp(sigma)), float(math.exp(tau)))


def remaining(fleet: Fleet, lives: Sequence[Lives]) -> list[Remaining]:
    """What is left of the part in use at each site; its age counts from 0 where it is not known."""
    if not lives:
        return []
    told = _told(lives)
    weights = _curves(told._replace(log_age=np.full_like(told.log_age, NAN)), fleet)
    weights = np.exp(weights - weights.max(axis=1, keepdims=True))
    spread, means = _seen_by_eye(told, fleet)
    age = np.array([[one.age or 0.0] for one in lives])
    beyond = (weights * _beyond(age, means, spread)).sum(axis=1)

    def ended_by(more: Curve) -> Curve:
        later = weights * _beyond(age + more[:, np.newaxis], means, spread)
        return np.asarray(1 - later.sum(axis=1) / beyond, dtype=np.float64)

    longest = np.full(len(lives), math.exp(fleet.mean + 8 * (fleet.sigma + fleet.tau)))
    due, low, high = (_root(ended_by, share, longest).tolist() for share in (DUE_AT, LOW, HIGH))
    return [Remaining(*one) for one in zip(due, low, high, strict=True)]


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


def _told(lives: Sequence[Lives]) -> _Told:
    """What sites tell of lives, one row each."""
    logs = [[math.log(life) for life in one.ended] for one in lives]
    eyes = [_by_eye(one) for one in lives]
    rows = [
        (
            len(ended),
            sum(ended),
            sum(log * log for log in ended),
            *(eye or (NAN, NAN)),
            math.log(one.age) if eye is None and one.age else NAN,
        )
        for one, ended, eye in zip(lives, logs, eyes, strict=True)
    ]
    table = np.array(rows, dtype=np.float64).reshape(len(rows), 6)
    return _Told(*(table[:, [k]] for k in range(6)))


def _curves(told: _Told, fleet: Fleet) -> Curve:
    """Log likelihood of each site's lives, with the prior, at each of the possible site means."""
    means = fleet.mean + fleet.tau * SITES_MEANS
    squares = told.squares - 2 * means * told.total + told.number * means**2
    curve = -0.5 * SITES_MEANS**2 - 0.5 * squares / fleet.sigma**2
    curve = curve - told.number * math.log(fleet.sigma)
    spread = np.hypot(fleet.sigma, told.error)
    seen = -0.5 * ((told.centre - means) / spread) ** 2 - np.log(spread)
    aged = log_ndtr((means - told.log_age) / fleet.sigma)
    return np.asarray(curve + np.nan_to_num(seen) + np.nan_to_num(aged), dtype=np.float64)


def _by_eye(lives: Lives) -> tuple[float, float] | None:
    """Logarithm of the life that wear so far points to, and its error; None without a look."""
    if lives.left is None or (lives.left_at or 0) < 1 or 1 - lives.left < LEAST_WORN:
        return None
    worn = 1 - lives.left
    return math.log((lives.left_at or 1) * (1 - lives.spent_at) / worn), EYE_SD / worn


def _seen_by_eye(told: _Told, fleet: Fleet) -> tuple[Curve, Curve]:
    """Spread and means of the lives in use, drawn toward what wear so far points to."""
    means = fleet.mean + fleet.tau * SITES_MEANS
    is_seen = np.isfinite(told.centre)
    share = np.where(is_seen, fleet.sigma**2 / (fleet.sigma**2 + told.error**2), 0.0)
    spread = fleet.sigma * told.error / np.hypot(fleet.sigma, told.error)
    drawn = share * (np.where(is_seen, told.centre, 0.0) - means)
    return np.where(is_seen, spread, fleet.sigma), means + drawn


def _beyond(age: Curve, means: Curve, spread: Curve) -> Curve:
    """Share of lives that last beyond an age, at each of the site means."""
    with np.errstate(divide="ignore"):  # all lives last beyond 0
        return np.asarray(ndtr((means - np.log(age)) / spread), dtype=np.float64)


def _root(ended_by: Callable[[Curve], Curve], share: float, longest: Curve) -> Curve:
    low, high = np.zeros_like(longest), longest
    for _rest in range(60):
        middle = (low + high) / 2
        is_before = ended_by(middle) < share
        low, high = np.where(is_before, middle, low), np.where(is_before, high, middle)
    return (low + high) / 2


def _month(day: date) -> str:
    return day_words(day).split(" ", 1)[1]
