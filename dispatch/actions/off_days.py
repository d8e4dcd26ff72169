"""Days off that were entered after planning: who is off and has stops all the same."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from dispatch.actions.due import closed_days
from dispatch.actions.published_day import read_day
from dispatch.day.state import StopState, has_begun
from dispatch.edits.words import day_words
from dispatch.planning.plan import WeekPlan
from dispatch.preflight import Cause, Finding
from dispatch.settings import Settings
from dispatch.store.days import read_revisions
from dispatch.technicians import Technician
from dispatch.words import _, counted

WAITING = (StopState.PLANNED, StopState.UNDER_WAY)


@dataclass(frozen=True, slots=True)
class OffDay:
    """A day on which a technician does not work and has stops all the same.

    `planned` are stops of the week's plan, `published` those of the published route that nobody
    has served yet.
    """

    technician_id: str
    name: str
    day: date
    planned: int
    published: int
    is_under_way: bool

    @property
    def key(self) -> tuple[str, date]:
        """The technician and the day."""
        return self.technician_id, self.day

    @property
    def finding(self) -> Finding:
        """What is wrong, and the mend."""
        if self.is_under_way:
            said, mend = self._has(self.published), _("The day is under way: repair it.")
        elif self.planned and self.published:
            said = self._has(self.planned)
            mend = _("Plan the week again, then publish the day again.")
        elif self.planned:
            said, mend = self._has(self.planned), _("Plan the week again.")
        else:
            said = counted(
                "off on {day} but {n} stop is published",
                "off on {day} but {n} stops are published",
                self.published,
                day=day_words(self.day),
            )
            mend = _("Publish the day again.")
        return Finding(Cause.OFF, self.name, said, mend)

    def _has(self, number: int) -> str:
        day = day_words(self.day)
        return counted(
            "off on {day} but has {n} stop", "off on {day} but has {n} stops", number, day=day
        )


def off_days(
    session: Session,
    settings: Settings,
    plan: WeekPlan,
    technicians: Iterable[Technician],
    today: date,
) -> tuple[OffDay, ...]:
    """Who has stops of `plan`, or published ones, on a day off from `today` on; by day."""
    people, closed = list(technicians), closed_days(settings, plan.week)
    found = list[OffDay]()
    for day in plan.week.days:
        off = [one for one in people if day in closed or one.shift_on(day) is None]
        if off and day >= today:
            found += _of_day(session, plan, day, off)
    return tuple(found)


def _of_day(
    session: Session, plan: WeekPlan, day: date, off: Iterable[Technician]
) -> Iterator[OffDay]:
    planned = {one.technician_id: len(one.stops) for one in plan.routes if one.day == day}
    given = {one.technician_id: len(one.route.stops) for one in read_revisions(session, day)}
    for one in off:
        if planned.get(one.id) or given.get(one.id):
            state = read_day(session, day) if given else None
            left = len(state.of_technician(one.id, *WAITING)) if state else 0
            begun = state is not None and has_begun(state)
            yield OffDay(one.id, one.name, day, planned.get(one.id, 0), left, begun)


def off_findings(found: Iterable[OffDay]) -> tuple[Finding, ...]:
    """What is wrong with days off; nothing where everybody has been served or repaired."""
    return tuple(
        one.finding for one in found if one.published or (one.planned and not one.is_under_way)
    )
