"""Sites that would be visited twice on a day: as planned, and by a repair of another day.

A repair may bring a visit into a week that is planned only later.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from sqlmodel import Session

from dispatch.actions.day_moved import Moved, moved_to
from dispatch.edits.words import Names, day_words
from dispatch.planning.plan import WeekPlan
from dispatch.words import _, counted

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.edits.checklist import Point


def doubled_point(
    session: Session, plan: WeekPlan, names: Names, today: date, day: date | None = None
) -> tuple[Point, ...]:
    """The point of the check list that names them, of the week or of `day` alone; mostly none."""
    from dispatch.edits.checklist import Point, State

    ahead = [one for one in plan.week.days if one >= today and day in (None, one)]
    lines = tuple(_lines(plan, moved_to(session, ahead), names))
    if not lines:
        return ()
    question = _("Is every site visited once a day?")
    answer = counted(
        "{n} site is visited twice, once by a repair of another day.",
        "{n} sites are visited twice, once by a repair of another day.",
        len(lines),
    )
    return (Point("doubled", question, State.WRONG, answer, lines),)


def _lines(plan: WeekPlan, moved: list[Moved], names: Names) -> Iterator[str]:
    """A regular visit that a repair brought is no second one where one-off work is planned."""
    for one in (visit for visit in moved if not visit.work.title):
        regular = f"{one.work.site_id}/{plan.week}/"
        for route in plan.routes:
            ids = [stop.visit_id for stop in route.stops if route.day == one.day]
            for visit_id in ids:
                if visit_id.startswith(regular) and visit_id != one.work.visit_id:
                    yield _(
                        "{site} is planned for {day}, where a repair of {was_on} has brought a "
                        "visit too: plan it for another day, or take it out."
                    ).format(
                        site=names.subject(visit_id),
                        day=day_words(one.day),
                        was_on=day_words(one.was_on),
                    )
