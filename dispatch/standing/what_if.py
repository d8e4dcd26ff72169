"""What if: the book as it would be, as plain values; nothing of the company's is changed.

Each supposition takes sites and technicians and gives others back. New people are given the id
of their kind and a number, which no book uses.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

from dispatch.errors import InvalidValue
from dispatch.places import Place
from dispatch.planning.check import violations
from dispatch.planning.plan import WeekPlan
from dispatch.planning.progress import ShouldStop, never
from dispatch.planning.search import search
from dispatch.planning.week import write_plan
from dispatch.rhythms import Rhythm
from dispatch.service_plan import ServicePlan
from dispatch.sites import Site
from dispatch.standing.rounds import ROUNDS_EACH
from dispatch.standing.typical import Typical
from dispatch.technicians import Technician, unknown_technician
from dispatch.words import _

MOST_POOLS = 500  # bought at once
M_PER_DEGREE = 111_195.0  # of latitude, on a sphere of 6,371 km (calc)
A_MONDAY = date(2024, 1, 1)  # any; turns are counted from it
ROUNDS_MORE = 4  # times the rounds that only order routes: here customers find new places
Book = tuple[list[Site], list[Technician]]


@dataclass(frozen=True, slots=True)
class Leaves:
    """A technician leaves; the customers are free for whoever is nearest."""

    technician_id: str

    def applied(self, sites: Sequence[Site], technicians: Sequence[Technician]) -> Book:
        """The book without the technician; raises NotFound where there is none of this id."""
        _named(self.technician_id, technicians)
        freed = [
            replace(
                site,
                plan=replace(site.plan, usual_technician_id=None, technician_locked=False),
            )
            if site.plan.usual_technician_id == self.technician_id
            else site
            for site in sites
        ]
        return freed, [one for one in technicians if one.id != self.technician_id]


@dataclass(frozen=True, slots=True)
class Hired:
    """One more technician, with the shifts, skills, truck and depot of another one.

    The customers of the one who is like the new one are free for either of them.
    """

    like_id: str

    def applied(self, sites: Sequence[Site], technicians: Sequence[Technician]) -> Book:
        """The book with the new technician; raises NotFound where nobody is of this id."""
        like = _named(self.like_id, technicians)
        new = replace(like, id=f"{like.id}-new", name=_("New, like {name}").format(name=like.name))
        freed = [
            replace(site, plan=replace(site.plan, usual_technician_id=None))
            if site.plan.usual_technician_id == like.id and not site.plan.technician_locked
            else site
            for site in sites
        ]
        return freed, [*technicians, new]


@dataclass(frozen=True, slots=True)
class Bought:
    """`count` pools within `radius_m` of a place, all of one rhythm and length of visit.

    They are strewn evenly over the disc, the same for the same numbers; those that fall off the
    streets find no drive times and are told apart.

    Raises
    ------
    InvalidValue
        On a number or a radius that is not believable.
    """

    count: int
    place: Place
    radius_m: float
    service_min: int = 30
    rhythm: Rhythm = Rhythm.WEEKLY

    def __post_init__(self) -> None:
        if not 1 <= self.count <= MOST_POOLS or not 50 <= self.radius_m <= 50_000:
            raise InvalidValue(
                _(
                    "{count} pools within {radius:g} m cannot be supposed: give 1 to "
                    "{most_pools} pools, and 50 to 50,000 m."
                ).format(count=self.count, radius=self.radius_m, most_pools=MOST_POOLS)
            )

    def applied(self, sites: Sequence[Site], technicians: Sequence[Technician]) -> Book:
        """The book with the pools."""
        chance = Random(self.count)
        plan = ServicePlan(self.rhythm, self.service_min)
        new = []
        for n in range(self.count):
            far_m = self.radius_m * math.sqrt(chance.random())
            angle = 2 * math.pi * chance.random()
            lat = self.place.lat + far_m * math.cos(angle) / M_PER_DEGREE
            per_degree = M_PER_DEGREE * max(0.01, math.cos(math.radians(self.place.lat)))
            lon = self.place.lon + far_m * math.sin(angle) / per_degree
            name = f"bought-{n + 1}"
            new.append(Site(name, _("Bought pool {n}").format(n=n + 1), "", Place(lat, lon), plan))
        return [*sites, *new], list(technicians)


@dataclass(frozen=True, slots=True)
class NewRhythm:
    """All weekly customers change to another rhythm, as in winter.

    Raises
    ------
    InvalidValue
        On a rhythm of several visits a week, for which nobody has agreed on the days.
    """

    rhythm: Rhythm

    def __post_init__(self) -> None:
        if self.rhythm.visits_per_week > 1:
            raise InvalidValue(
                _(
                    "That weekly customers are served {rhythm} cannot be supposed: choose "
                    "every-2-weeks or every-4-weeks."
                ).format(rhythm=self.rhythm)
            )

    def applied(self, sites: Sequence[Site], technicians: Sequence[Technician]) -> Book:
        """The book with the rhythm; who is not served weekly now stays.

        The customers of each technician's weekday are dealt out to the weeks in turn.
        """
        seen: Counter[tuple[str | None, frozenset[int]]] = Counter()
        changed = []
        for site in sites:
            if site.plan.rhythm is Rhythm.WEEKLY:
                group = (site.plan.usual_technician_id, site.plan.usual_weekdays)
                turn = A_MONDAY + timedelta(weeks=seen[group] % self.rhythm.every_weeks)
                seen[group] += 1
                plan = replace(site.plan, rhythm=self.rhythm, seasons=(), anchor_on=turn)
                changed.append(replace(site, plan=plan))
            else:
                changed.append(site)
        return changed, list(technicians)


Supposition = Leaves | Hired | Bought | NewRhythm


def cycle_plans(
    typical: Typical,
    *,
    seed: int = 1,
    told: Callable[[int, int], None] = lambda _done, _all: None,
    should_stop: ShouldStop = never,
) -> list[WeekPlan]:
    """A plan of each week of a typical cycle, with the usual prices of changed habits.

    Customers of every second or fourth week who are used to no week have their turns dealt out in
    the order of their ids.
    """
    plans = []
    for w in range(typical.weeks):
        demands = tuple(
            demand
            for d, demand in enumerate(typical.problem.demands)
            if typical.has_turn(d, _phase(typical, d), w)
        )
        week = replace(typical.problem, demands=demands)
        rounds = ROUNDS_MORE * ROUNDS_EACH * max(1, len(demands))
        found = search(week, seed=seed, iterations=rounds, should_stop=should_stop)
        plan = write_plan(week, found, seed)
        broken = violations(week, plan)
        if broken:
            raise AssertionError(f"The search broke the rules of the week: {broken[:5]}")
        plans.append(plan)
        told(w + 1, typical.weeks)
    return plans


def _phase(typical: Typical, d: int) -> int:
    """The phase of a customer; dealt out where nothing is agreed."""
    if typical.habits[d].weekdays or typical.habits[d].technician_id:
        return typical.phases[d]
    return d % typical.every[d]


def _named(technician_id: str, technicians: Sequence[Technician]) -> Technician:
    for one in technicians:
        if one.id == technician_id:
            return one
    raise unknown_technician(technician_id)
