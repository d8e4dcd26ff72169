"""Minutes of service learnt from what visits took, beside those that were agreed.

What is learnt is the mean of a usual visit at a site without upkeep, by a technician of usual
pace; paces and the months' effects come apart from it, and so do the minutes of each upkeep.
One-off work (a green pool, a follow-up) and a first visit with minutes of its own say nothing of
a usual visit, and one in a season with minutes of its own is compared with those.
Statistics: `records.effects`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

import numpy as np

from dispatch.clock import IsoWeek
from dispatch.one_offs import work_id_of
from dispatch.records.effects import Effects, Observed, estimate
from dispatch.records.stays import Stay
from dispatch.sites import Site
from dispatch.words import _

SHORTEST_MIN = 3.0  # minutes; what remains of a visit once its upkeep is taken off is no less
LARGE_L, SMALL_L = 90_000, 45_000  # litres; where pools begin to be large, or cease to be small
UPKEEP_PRIOR = 4.0  # visits that the table's minutes of an upkeep count for; common practice
INTERVAL = 1.2816  # standard deviations to either side of an 80 % interval of a normal
LEAST_SHARE, MOST_SHARE = 0.5, 2.0  # of the agreed minutes: planning follows no further


@dataclass(frozen=True, slots=True)
class SiteMinutes:
    """A site's agreed and learnt minutes; the 80 % interval is that of the learnt mean.

    `visits` is how many were learnt from, `actual_min` their median (None without any) and
    `words` say how far to trust it.
    """

    site_id: str
    agreed_min: float
    learnt_min: float
    low_min: float
    high_min: float
    visits: int
    actual_min: float | None
    words: str

    @property
    def planning_min(self) -> int:
        """Whole minutes to plan with: the learnt ones, within half and twice those agreed."""
        least = math.ceil(self.agreed_min * LEAST_SHARE)
        most = math.floor(self.agreed_min * MOST_SHARE)
        return max(1, min(most, max(least, round(self.learnt_min))))


@dataclass(frozen=True, slots=True)
class Pace:
    """How a technician's visits compare with others at the same pools; 1.1 is a tenth longer."""

    technician_id: str
    factor: float
    visits: int


@dataclass(frozen=True, slots=True)
class UpkeepMinutes:
    """Minutes by which a visit with this upkeep is longer, beside those of the table."""

    kind: str
    table_min: float
    learnt_min: float
    visits: int


@dataclass(frozen=True, slots=True)
class LearntMinutes:
    """All that was learnt; `months` are factors of January to December."""

    sites: Mapping[str, SiteMinutes]
    paces: tuple[Pace, ...]
    upkeep: tuple[UpkeepMinutes, ...]
    months: tuple[float, ...]
    stays: int
    left_out: int


def learn_minutes(
    sites: Sequence[Site],
    stays: Sequence[Stay],
    today: date,
    *,
    upkeep_min: Mapping[str, float] | None = None,
    left_out: int = 0,
) -> LearntMinutes:
    """Learn the minutes of every site, also of those nobody has been to.

    Parameters
    ----------
    sites
        The book; what was agreed is the starting point.
    stays
        Believable stays (`stays_of`); those of sites that are not in the book are left out.
    today
        The day from which the age of an observation counts.
    upkeep_min
        Minutes by which the table lengthens a visit for each kind of upkeep.
    left_out
        Visits that had no believable stay, to be told.
    """
    table = dict(upkeep_min or {})
    number = {site.id: n for n, site in enumerate(sites)}
    in_book = [stay for stay in stays if stay.site_id in number]
    known = _usual(sites, in_book)
    plain = [stay for stay in known if not stay.upkeep_kinds]
    technicians = sorted({stay.technician_id for stay in plain})
    seen = _observed(sites, number, plain, technicians, today)
    effects = estimate(seen)
    minutes = _site_minutes(sites, plain, effects)
    paces = tuple(
        Pace(technician, float(np.exp(effects.technician[n])), int(count))
        for n, (technician, count) in enumerate(
            zip(technicians, np.bincount(seen.technician, minlength=len(technicians)), strict=True)
        )
    )
    return LearntMinutes(
        sites=minutes,
        paces=paces,
        upkeep=_upkeep_minutes([one for one in known if one.upkeep_kinds], minutes, paces, table),
        months=tuple(float(one) for one in np.exp(effects.month)),
        stays=len(known),
        left_out=left_out + len(stays) - len(in_book),
    )


def kind_of_pool(site: Site) -> str:
    """The kind whose sites are taken to be alike: what keeps the water clean, and the size."""
    litres = site.pool_volume_l
    if litres is None:
        size = _("of unknown size")
    else:
        size = "large" if litres >= LARGE_L else "small" if litres < SMALL_L else "middling"
    return f"{site.sanitizer}, {size}"


def _usual(sites: Sequence[Site], stays: Iterable[Stay]) -> list[Stay]:
    """Stays of usual visits: of no one-off work, and of no first visit that is agreed as longer."""
    found = [stay for stay in stays if not work_id_of(stay.visit_id or "")]
    began = {
        site.id: site.plan.started_on or date.min
        for site in sites
        if site.plan.first_service_min is not None
    }
    first = {}
    for stay in sorted(found, key=lambda one: one.day, reverse=True):
        if stay.day >= began.get(stay.site_id, date.max):
            first[stay.site_id] = stay.day
    return [stay for stay in found if stay.day != first.get(stay.site_id)]


def _observed(
    sites: Sequence[Site],
    number: Mapping[str, int],
    stays: Sequence[Stay],
    technicians: Sequence[str],
    today: date,
) -> Observed:
    kinds = {kind: n for n, kind in enumerate(sorted({kind_of_pool(site) for site in sites}))}
    plans = {site.id: site.plan for site in sites}
    agreed = np.array(
        [plans[stay.site_id].service_min_in(IsoWeek.of(stay.day)) for stay in stays], dtype=float
    )
    at = np.array([number[stay.site_id] for stay in stays], dtype=np.int64)
    minutes = np.array([max(stay.minutes, SHORTEST_MIN) for stay in stays], dtype=float)
    who = {technician: n for n, technician in enumerate(technicians)}
    return Observed(
        ratio=np.log(minutes) - np.log(agreed),
        site=at,
        technician=np.array([who[stay.technician_id] for stay in stays], dtype=np.int64),
        month=np.array([stay.day.month - 1 for stay in stays], dtype=np.int64),
        age_days=np.array([(today - stay.day).days for stay in stays], dtype=float),
        group_of=np.array([kinds[kind_of_pool(site)] for site in sites], dtype=np.int64),
        technicians=len(technicians),
    )


def _site_minutes(
    sites: Sequence[Site], stays: Iterable[Stay], effects: Effects
) -> dict[str, SiteMinutes]:
    actual: defaultdict[str, list[float]] = defaultdict(list)
    for stay in stays:
        actual[stay.site_id].append(stay.minutes)
    to_mean = math.exp(effects.scatter**2 / 2)  # days add up by means, and a log-normal's is above
    found = {}
    for n, site in enumerate(sites):
        agreed, visits = float(site.plan.service_min), int(effects.visits[n])
        middle = agreed * math.exp(effects.site[n]) * to_mean
        away = math.exp(INTERVAL * effects.site_sd[n])
        found[site.id] = SiteMinutes(
            site.id,
            agreed,
            middle,
            middle / away,
            middle * away,
            visits,
            median(actual[site.id]) if visits else None,
            _words(site, visits),
        )
    return found


def _words(site: Site, visits: int) -> str:
    if visits == 0:
        return _("No visit yet: as other pools of its kind ({kind_of_pool}).").format(
            kind_of_pool=kind_of_pool(site)
        )
    if visits < 4:
        return _(
            "Few visits, {visits}: mostly as other pools of its kind ({kind_of_pool})."
        ).format(visits=visits, kind_of_pool=kind_of_pool(site))
    return _("From {visits} visits.").format(visits=visits)


def _upkeep_minutes(
    stays: Sequence[Stay],
    minutes: Mapping[str, SiteMinutes],
    paces: Sequence[Pace],
    table: Mapping[str, float],
) -> tuple[UpkeepMinutes, ...]:
    """What each upkeep adds: the median beyond the usual visit, drawn towards the table.

    Where a visit had several kinds, what it was longer by is shared out as the table has them.
    """
    pace = {one.technician_id: one.factor for one in paces}
    extra: defaultdict[str, list[float]] = defaultdict(list)
    for stay in stays:
        whole = sum(table.get(kind, 0.0) for kind in stay.upkeep_kinds)
        if whole <= 0:
            continue
        usual = minutes[stay.site_id].learnt_min * pace.get(stay.technician_id, 1.0)
        for kind in stay.upkeep_kinds:
            share = table.get(kind, 0.0) / whole
            extra[kind].append(max(0.0, stay.minutes - usual) * share)
    return tuple(
        UpkeepMinutes(
            kind,
            table[kind],
            (len(seen) * median(seen) + UPKEEP_PRIOR * table[kind]) / (len(seen) + UPKEEP_PRIOR),
            len(seen),
        )
        for kind, seen in sorted(extra.items())
        if kind in table
    )
