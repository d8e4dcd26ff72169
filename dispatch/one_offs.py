"""One-off work: bursts that bring a green pool back, follow-ups, and jobs outside the rhythm."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from dispatch.errors import InvalidValue
from dispatch.service_plan import Priority, VisitKind, check_chemicals_kg, check_crew, check_minutes
from dispatch.windows import ALL_DAY, TimeWindow, check_windows
from dispatch.words import _

DEMAND_PREFIX = "one-off:"  # no id of a site holds a colon
ONE_OFF_KINDS = (VisitKind.GREEN_POOL, VisitKind.FOLLOW_UP, VisitKind.ONE_OFF)
MOST_VISITS = 14  # of one job; two weeks of daily visits, beyond any burst (common practice)
LONGEST_SPAN = timedelta(days=366)
FOLLOW_UP_DAYS = (1, 3)  # days after the visit that called for it; common practice
BURST_DAYS = (1, 7)  # days; 2 to 5 short visits within 3 to 7 days, common practice
ONE_OFF_DAYS = (1, 28)  # days; four weeks to fit in a job that nobody waits for, our own choice


@dataclass(frozen=True, slots=True)
class OneOff:
    """Work at a site that no rhythm brings about.

    Its visits lie on different days from `first_day` to `last_day`, both included; `minutes` has
    the length of each. `consecutive` visits follow each other day by day, days on which nobody
    works left out. `mass_kg` is what each visit takes from the payload of the
    truck, `chemicals_kg` the regulated chemicals among what it uses (gross), and `parts` says
    what to load. With a `technician_id` only that technician may come.

    `visited_on` are the days on which visits of it took place, `done_on` is when it was finished
    or given up; either may be filled first.

    Raises
    ------
    InvalidValue
        On another kind, days or minutes that are not believable, or more visits than days.
    """

    id: str
    site_id: str
    title: str
    kind: VisitKind
    first_day: date
    last_day: date
    minutes: tuple[int, ...]
    consecutive: bool = False
    skills: frozenset[str] = frozenset()
    crew: int = 1
    windows: tuple[TimeWindow, ...] = ALL_DAY
    priority: Priority = Priority.NORMAL
    parts: str = ""
    mass_kg: float = 0.0
    chemicals_kg: float = 0.0
    technician_id: str | None = None
    note: str = ""
    visited_on: tuple[date, ...] = ()
    done_on: date | None = None

    def __post_init__(self) -> None:
        if not self.id or not self.site_id or not self.title:
            raise InvalidValue(_("One-off work needs an id, a site and a title."))
        if self.kind not in ONE_OFF_KINDS:
            raise InvalidValue(
                _(
                    "Work of the kind '{kind}' comes by the rhythm of its site: choose one of "
                    "{one_off_kinds}."
                ).format(kind=self.kind, one_off_kinds=", ".join(ONE_OFF_KINDS))
            )
        self._check_days()
        for minutes in self.minutes:
            check_minutes(minutes)
        check_crew(self.crew)
        check_windows(self.windows)
        check_chemicals_kg(self.chemicals_kg)
        if not 0 <= self.mass_kg <= 2000:
            raise InvalidValue(
                _("{mass} kg for the work {id} is not believable: give 0 to 2000 kg.").format(
                    mass=self.mass_kg, id=self.id
                )
            )

    def _check_days(self) -> None:
        if not timedelta() <= self.last_day - self.first_day <= LONGEST_SPAN:
            raise InvalidValue(
                _(
                    "The work {id} is to be done from {first_day} to {last_day}: give a last "
                    "day that is not before the first, and at most a year after it."
                ).format(id=self.id, first_day=self.first_day, last_day=self.last_day)
            )
        span_days = (self.last_day - self.first_day).days + 1
        if not 1 <= len(self.minutes) <= min(span_days, MOST_VISITS):
            raise InvalidValue(
                _(
                    "The work {id} has {number} visits in {span_days} days: give minutes for 1 "
                    "to {most_visits} visits, and at least as many days."
                ).format(
                    id=self.id,
                    number=len(self.minutes),
                    span_days=span_days,
                    most_visits=MOST_VISITS,
                )
            )
        if list(self.visited_on) != sorted(set(self.visited_on)):
            raise InvalidValue(
                _(
                    "The days on which the work {id} was visited are not in order, or one is "
                    "there twice: give each day once, the earliest first."
                ).format(id=self.id)
            )

    @property
    def demand_id(self) -> str:
        """Its name among the demands of a week; no site can have it."""
        return f"{DEMAND_PREFIX}{self.id}"

    @property
    def minutes_left(self) -> tuple[int, ...]:
        """Minutes of the visits that have not taken place; none once the work is done."""
        return () if self.done_on is not None else self.minutes[len(self.visited_on) :]

    @property
    def is_open(self) -> bool:
        """Whether any visit is still owed."""
        return bool(self.minutes_left)

    def visited(self, on: date) -> OneOff:
        """The work once a visit of it took place on `on`; the last visit finishes it."""
        if on in self.visited_on:
            return self
        days = tuple(sorted((*self.visited_on, on)))
        done_on = days[-1] if len(days) >= len(self.minutes) else self.done_on
        return replace(self, visited_on=days, done_on=done_on)

    def finished(self, on: date) -> OneOff:
        """The work once it was finished, or given up, on `on`."""
        return replace(self, done_on=on)


def work_id_of(visit_id: str) -> str:
    """The id of the work in the name of one of its visits; empty for a regular visit."""
    if not visit_id.startswith(DEMAND_PREFIX):
        return ""
    return visit_id.removeprefix(DEMAND_PREFIX).partition("/")[0]


def usual_span(kind: VisitKind, noticed_on: date) -> tuple[date, date]:
    """First and last day of work of `kind` called for on `noticed_on`, where nobody names them."""
    first, last = {
        VisitKind.FOLLOW_UP: FOLLOW_UP_DAYS,
        VisitKind.GREEN_POOL: BURST_DAYS,
    }.get(kind, ONE_OFF_DAYS)
    return noticed_on + timedelta(days=first), noticed_on + timedelta(days=last)
