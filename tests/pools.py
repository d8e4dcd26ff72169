"""Pools for tests: invented sites with as little said about them as a test needs."""

from __future__ import annotations

from datetime import date

from dispatch.clock import IsoWeek
from dispatch.places import Place
from dispatch.sites import Equipment, Hold, Rhythm, Sanitizer, ServicePlan, Site
from dispatch.visits import NotDue, VisitsDue, visits_due

GATE = Place(33.45, -111.93)  # invented
W49 = IsoWeek(2026, 49)  # Monday 30 November 2026
FRIDAY_BEFORE = date(2026, 11, 27)  # when next week is usually planned


def pool(
    plan: ServicePlan | None = None,
    *,
    id: str = "S001",  # noqa: A002
    equipment: Equipment | None = None,
    sanitizer: Sanitizer = Sanitizer.CHLORINE,
) -> Site:
    """A site with the given plan, weekly and of 25 minutes where none is given."""
    return Site(
        id=id,
        name=f"Pool {id}",
        address="12 Elm Street",
        place=GATE,
        plan=plan or ServicePlan(Rhythm.WEEKLY, 25),
        sanitizer=sanitizer,
        equipment=equipment or Equipment(),
    )


def every(weeks: int, *, anchor: date | None = None, last: date | None = None) -> ServicePlan:
    """A plan every 1, 2 or 4 weeks."""
    rhythm = {1: Rhythm.WEEKLY, 2: Rhythm.EVERY_2_WEEKS, 4: Rhythm.EVERY_4_WEEKS}[weeks]
    return ServicePlan(rhythm, 25, anchor_on=anchor, last_visit_on=last)


def answer(
    site: Site, week: IsoWeek = W49, *, today: date = FRIDAY_BEFORE, holds: tuple[Hold, ...] = ()
) -> VisitsDue | NotDue:
    """What the one site is told about a week."""
    found = visits_due([site], week, today=today, holds=holds)
    answers: list[VisitsDue | NotDue] = [*found.due, *found.not_due]
    assert len(answers) == 1
    return answers[0]


def due(site: Site, week: IsoWeek = W49, *, today: date = FRIDAY_BEFORE) -> VisitsDue:
    """The visits owed to the one site; fails where there are none."""
    found = answer(site, week, today=today)
    assert isinstance(found, VisitsDue), found
    return found


def not_due(
    site: Site, week: IsoWeek = W49, *, today: date = FRIDAY_BEFORE, holds: tuple[Hold, ...] = ()
) -> NotDue:
    """Why the one site is owed nothing; fails where it is owed visits."""
    found = answer(site, week, today=today, holds=holds)
    assert isinstance(found, NotDue), found
    return found
