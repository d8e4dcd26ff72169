"""What two plans of one week do differently: customer by customer, and in figures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from dispatch.planning.plan import Stop, WeekPlan
from dispatch.words import _, joined

NOTICED_S = 15 * 60  # a customer notices a quarter of an hour (common practice)


@dataclass(frozen=True, slots=True)
class Where:
    """Where a visit stands in a plan; service begins at `start_s` after midnight."""

    technician_id: str
    day: date
    start_s: int
    upkeep_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Moved:
    """A visit that stands elsewhere in the other plan; None where it has no place."""

    visit_id: str
    site_id: str
    before: Where | None
    after: Where | None

    @property
    def new_day(self) -> bool:
        """Whether it comes on another day."""
        return (
            self.before is not None
            and self.after is not None
            and (self.before.day != self.after.day)
        )

    @property
    def new_technician(self) -> bool:
        """Whether somebody else comes."""
        return (
            self.before is not None
            and self.after is not None
            and (self.before.technician_id != self.after.technician_id)
        )

    @property
    def later_s(self) -> int:
        """By how many seconds it begins later on its day; below 0: earlier."""
        if self.before is None or self.after is None:
            return 0
        return self.after.start_s - self.before.start_s

    @property
    def new_upkeep(self) -> bool:
        """Whether it carries other upkeep."""
        old = self.before.upkeep_ids if self.before else ()
        new = self.after.upkeep_ids if self.after else ()
        return set(old) != set(new)

    @property
    def words(self) -> str:
        """What changes, in a few words."""
        if self.before is None:
            return _("gets a place")
        if self.after is None:
            return _("loses its place")
        told = [
            words
            for words, holds in (("day", self.new_day), ("technician", self.new_technician))
            if holds
        ]
        if not told and abs(self.later_s) >= NOTICED_S:
            told = ["time"]
        if self.new_upkeep:
            told.append("upkeep")
        return _("other {told}").format(told=joined(told)) if told else _("a few minutes")


@dataclass(frozen=True, slots=True)
class Figures:
    """A plan in figures; `cost_s` is its price in seconds of driving."""

    stops: int
    unplaced: int
    put_off: int
    drive_s: int
    drive_m: int
    service_s: int
    wait_s: int
    overtime_s: int
    away: int  # visits away from their usual technician or weekday
    cost_s: int


@dataclass(frozen=True, slots=True)
class Difference:
    """Two plans side by side: figures of both, and the visits that move, by day and customer."""

    before: Figures
    after: Figures
    moved: tuple[Moved, ...]

    @property
    def shifted(self) -> tuple[Moved, ...]:
        """Visits that a customer notices: another day, technician, time or upkeep, or no place."""
        return tuple(one for one in self.moved if one.words != "a few minutes")


def compare(before: WeekPlan, after: WeekPlan) -> Difference:
    """What `after` does differently from `before`."""
    old, new = _places(before), _places(after)
    listed = {one.visit_id: one.site_id for plan in (before, after) for one in plan.unplaced}
    sites = listed | {name: one[1] for places in (old, new) for name, one in places.items()}
    moved = [
        Moved(visit_id, site_id, _where(old, visit_id), _where(new, visit_id))
        for visit_id, site_id in sites.items()
        if _where(old, visit_id) != _where(new, visit_id)
    ]
    return Difference(figures_of(before), figures_of(after), tuple(sorted(moved, key=_order)))


def figures_of(plan: WeekPlan) -> Figures:
    """The figures of a plan."""
    return Figures(
        stops=sum(len(route.stops) for route in plan.routes),
        unplaced=len(plan.unplaced),
        put_off=len(plan.put_off),
        drive_s=plan.drive_s,
        drive_m=sum(route.drive_m for route in plan.routes),
        service_s=plan.service_s,
        wait_s=sum(route.wait_s for route in plan.routes),
        overtime_s=sum(route.overtime_s for route in plan.routes),
        away=len(plan.changes),
        cost_s=plan.cost_s,
    )


def _places(plan: WeekPlan) -> dict[str, tuple[Where, str]]:
    return {
        stop.visit_id: (Where(technician_id, day, stop.start_s, stop.upkeep_ids), stop.site_id)
        for technician_id, day, stop in _stops(plan)
    }


def _stops(plan: WeekPlan) -> Iterator[tuple[str, date, Stop]]:
    for route in plan.routes:
        for stop in route.stops:
            yield route.technician_id, route.day, stop


def _where(places: dict[str, tuple[Where, str]], visit_id: str) -> Where | None:
    return places[visit_id][0] if visit_id in places else None


def _order(one: Moved) -> tuple[bool, date, str]:
    where = one.before or one.after
    assert where is not None  # noqa: S101 - a visit without a place in both has not moved
    return one.before is not None and one.after is not None, where.day, one.site_id
