"""What a week owes, as values: visits due, and sites or jobs that are not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.errors import InvalidValue
from dispatch.service_plan import Priority, VisitKind
from dispatch.turns import DueBecause
from dispatch.windows import ALL_DAY, TimeWindow
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class VisitsDue:
    """Visits that one demand owes in one week: the regular ones of a site, or a one-off job.

    `patterns` are the choices of days, each a rising tuple with one day per visit; planning takes
    exactly one of them. `service_min` has the minutes of each visit in the same order. `note`
    says in words what was bent (a holiday, a hold), or is empty. `demand_id` is unique in the
    week; it is the site's id for regular visits. `chemicals_kg` (regulated, gross) and `mass_kg`
    (anything else) are what each visit takes from the truck. `next_visit_on` is the first day on
    which the site's next regular visit after this week may come, None when none is in sight.
    `title` says what a one-off job is; it is empty for regular visits. `lacking` is how many
    visits were agreed for the week besides these and find no open day in it.
    """

    site_id: str
    week: IsoWeek
    patterns: tuple[tuple[date, ...], ...]
    service_min: tuple[int, ...]
    because: DueBecause = DueBecause.RHYTHM
    note: str = ""
    kind: VisitKind = VisitKind.REGULAR
    demand_id: str = ""
    windows: tuple[TimeWindow, ...] = ALL_DAY
    crew: int = 1
    priority: Priority = Priority.NORMAL
    skills: frozenset[str] = frozenset()
    chemicals_kg: float = 0.0
    mass_kg: float = 0.0
    usual_technician_id: str | None = None
    usual_weekdays: frozenset[int] = frozenset()
    technician_locked: bool = False
    unwanted_technician_ids: frozenset[str] = frozenset()
    next_visit_on: date | None = None
    title: str = ""
    lacking: int = 0

    def __post_init__(self) -> None:
        if not self.demand_id:
            object.__setattr__(self, "demand_id", self.site_id)
        lengths = {len(pattern) for pattern in self.patterns}
        if lengths != {len(self.service_min)}:
            raise InvalidValue(
                _(
                    "The visits of {demand} in {week} have minutes for {number} visits but "
                    "days for {lengths}: give one number of minutes for each day of a pattern."
                ).format(
                    demand=self.demand_id,
                    week=self.week,
                    number=len(self.service_min),
                    lengths=sorted(lengths),
                )
            )

    @property
    def count(self) -> int:
        """Number of visits owed."""
        return len(self.service_min)

    def visit_id(self, number: int) -> str:
        """Stable name of the visit `number` (1, 2 ...), as 'S017/2026-W49/1'."""
        return f"{self.demand_id}/{self.week}/{number}"


@dataclass(frozen=True, slots=True)
class NotDue:
    """A site or one-off job that is owed nothing in a week: why, and when its turn comes.

    `reason` is in whole sentences. `next_due_on` is the day on which the next visit is expected
    (the usual weekday where it is open); None when no such day lies within two years, as under a
    hold without end. Holidays of later weeks are not looked at. `demand_id` is that of a one-off
    job; it is the site's id where the regular visits are meant.
    """

    site_id: str
    reason: str
    next_due_on: date | None
    demand_id: str = ""

    def __post_init__(self) -> None:
        if not self.demand_id:
            object.__setattr__(self, "demand_id", self.site_id)


@dataclass(frozen=True, slots=True)
class WeekDue:
    """Every demand once, due or not: the regular visits of each site, and the open one-off jobs.

    One-off jobs of other weeks are in neither list; one that is late is of every week until it can
    be done.
    """

    due: tuple[VisitsDue, ...]
    not_due: tuple[NotDue, ...]
