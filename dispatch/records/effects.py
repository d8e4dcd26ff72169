"""The statistics behind learnt minutes: effects of sites, technicians and months on a logarithm.

Each observed log ratio is the sum of a site's effect, a technician's pace, a month's effect and
a scatter with heavy tails (Student's t with 4 degrees of freedom), so that a forgotten check-out
moves nothing much. Site effects are drawn towards those of their kind of pool, kinds towards all
sites, paces and months towards none; how strongly is estimated from the data themselves
(empirical Bayes: B. Efron and C. Morris, Journal of the American Statistical Association 70,
1975; the weights are those of the EM algorithm for t: K. Lange, R. Little and J. Taylor, the
same 84, 1989). Older observations of a site count less, so that its effect may drift.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TAIL = 4.0  # degrees of freedom of the scatter
INFORMATION = (TAIL + 1) / (TAIL + 3)  # of an observation from t, in those of a normal (the same)
HALF_LIFE_DAYS = 180.0  # days after which an observation of a site counts half; common practice
ROUNDS = 25  # alternations; changes are below 0.001 after about ten
LEAST_SCATTER, LEAST_SPREAD = 0.05, 0.03  # standard deviations of logarithms that are never 0
MONTHS = 12


@dataclass(frozen=True, slots=True)
class Observed:
    """Observed log ratios, one entry each: `site`, `technician` and `month` are numbers from 0.

    `age_days` counts back from the day of the question. `group_of` gives each site's kind.
    """

    ratio: Floats
    site: Ints
    technician: Ints
    month: Ints
    age_days: Floats
    group_of: Ints
    technicians: int


@dataclass(frozen=True, slots=True)
class Effects:
    """Effects on the logarithm, with the standard deviation of each site's own.

    `scatter` is that of single visits, 0 where there are none.
    """

    site: Floats
    site_sd: Floats
    technician: Floats
    month: Floats
    scatter: float
    visits: Ints


def estimate(seen: Observed) -> Effects:
    """Estimate all effects by turns; sites without any observation get that of their kind."""
    sites = len(seen.group_of)
    groups = int(seen.group_of.max(initial=-1)) + 1
    recency = 0.5 ** (np.maximum(seen.age_days, 0) / HALF_LIFE_DAYS)
    state = _State(
        site=np.zeros(sites),
        variance=np.full(sites, 0.09),
        technician=np.zeros(seen.technicians),
        month=np.zeros(MONTHS),
        scatter2=0.09,
        spread2=0.09,
        centre=np.zeros(groups),
    )
    for _ in range(ROUNDS):
        _alternate(seen, state, recency)
    return Effects(
        site=state.site,
        site_sd=np.sqrt(state.variance),
        technician=state.technician,
        month=state.month,
        scatter=float(np.sqrt(state.scatter2)) if seen.ratio.size else 0.0,
        visits=np.bincount(seen.site, minlength=sites),
    )


@dataclass(slots=True)
class _State:
    site: Floats
    variance: Floats
    technician: Floats
    month: Floats
    scatter2: float
    spread2: float
    centre: Floats
    pace2: float = 0.01
    season2: float = 0.01


def _alternate(seen: Observed, state: _State, recency: Floats) -> None:
    """One round: weights, sites, kinds, technicians, months, and how far each spreads."""
    rest = _residual(seen, state)
    tail = (TAIL + 1) / (TAIL + rest**2 / state.scatter2)
    unsure = state.variance[seen.site]  # a site's effect fitted to few visits hides their scatter
    if rest.size:
        spread = float(np.average(tail * (rest**2 + unsure), weights=recency))
        state.scatter2 = _floor(spread, LEAST_SCATTER)
    # All effects take the same weights: with others the turns would chase each other for ever.
    weight = tail * recency
    at_site = rest + state.site[seen.site]
    mass = np.bincount(seen.site, weight, len(state.site)) / state.scatter2
    sums = np.bincount(seen.site, weight * at_site, len(state.site)) / state.scatter2
    prior = 1 / state.spread2
    centre = state.centre[seen.group_of]
    state.site = (sums + prior * centre) / (mass + prior)
    state.variance = 1 / (INFORMATION * mass + prior)
    _update_centres(seen, state, mass)
    state.technician, state.pace2 = _shrunk(
        weight, _residual(seen, state) + state.technician[seen.technician], seen.technician,
        len(state.technician), state.scatter2, state.pace2,
    )  # fmt: skip
    state.month, state.season2 = _shrunk(
        weight, _residual(seen, state) + state.month[seen.month], seen.month,
        MONTHS, state.scatter2, state.season2,
    )  # fmt: skip


def _residual(seen: Observed, state: _State) -> Floats:
    fitted = state.site[seen.site] + state.technician[seen.technician] + state.month[seen.month]
    return seen.ratio - fitted


def _update_centres(seen: Observed, state: _State, mass: Floats) -> None:
    """The mean of each kind of pool, drawn towards that of all sites, and the sites' spread."""
    known = mass > 0
    if not known.any():
        return
    groups = len(state.centre)
    own = known.astype(float)
    count = np.bincount(seen.group_of, own, groups)
    total = np.bincount(seen.group_of, own * state.site, groups)
    overall = float(state.site[known].mean())
    kinds2 = _floor(
        float(np.average((total / np.maximum(count, 1) - overall) ** 2, weights=count)),
        LEAST_SPREAD,
    )
    pull = state.spread2 / kinds2
    state.centre = (total + pull * overall) / (count + pull)
    away = (state.site - state.centre[seen.group_of]) ** 2 + state.variance
    state.spread2 = _floor(float(away[known].mean()), LEAST_SPREAD)


def _shrunk(
    weight: Floats, rest: Floats, number: Ints, size: int, scatter2: float, spread2: float
) -> tuple[Floats, float]:
    """Effects drawn towards none, and how far they spread."""
    mass = np.bincount(number, weight, size) / scatter2
    sums = np.bincount(number, weight * rest, size) / scatter2
    effect = sums / (mass + 1 / spread2)
    seen = mass > 0
    if not seen.any():
        return effect, spread2
    away = effect[seen] ** 2 + 1 / (mass[seen] + 1 / spread2)
    return effect, _floor(float(away.mean()), LEAST_SPREAD)


def _floor(variance: float, least_sd: float) -> float:
    return max(variance, least_sd**2)
