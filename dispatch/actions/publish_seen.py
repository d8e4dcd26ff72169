"""Publishing is for what was seen: a plan or a day that another changed since is looked at first.

Two dispatchers may have the same week open. Whoever presses the button of a page that is behind
would send half of the other one's change to the technicians, or put the plan in place of a repair
that the page does not show.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, tzinfo

from sqlmodel import Session

from dispatch.actions.plan_versions import check_version
from dispatch.clock import IsoWeek
from dispatch.day.events import DayEvent, EventKind
from dispatch.edits.words import day_words
from dispatch.errors import ChangedMeanwhile, NotFound
from dispatch.planning.plan import Route, WeekPlan
from dispatch.store import plan_versions as store
from dispatch.store.days import read_day_events
from dispatch.store.plans import read_plan
from dispatch.words import _


def latest_repair(events: Iterable[DayEvent]) -> int:
    """The number of a day's latest repair; 0 where nobody has repaired it."""
    return max((one.number for one in events if one.kind is EventKind.REPAIRED), default=0)


def repair_seen(session: Session, day: date) -> int:
    """What `check_day_seen` is told by whoever looks at `day` now."""
    return latest_repair(read_day_events(session, day))


def check_week_seen(session: Session, week: IsoWeek, version: int | None) -> None:
    """Raise ChangedMeanwhile where the plan is another than the version seen; None: anything."""
    if version is not None:
        check_version(session, week, version)


def check_day_seen(
    session: Session, day: date, version: int | None, repair: int | None, zone: tzinfo
) -> None:
    """Refuse to publish a day of which the plan or the route is not as it was seen.

    Parameters
    ----------
    version
        The version of the plan that was seen; what has changed on other days does not matter.
    repair
        The number of the day's latest repair that was seen, 0 for none.
    zone
        Where the time of a repair is told.

    Raises
    ------
    ChangedMeanwhile
        With who did what.
    """
    week = IsoWeek.of(day)
    if version is not None and _has_changed(session, week, day, version):
        check_version(session, week, version)
    events = read_day_events(session, day)
    latest = latest_repair(events)
    published = max((one.number for one in events if one.kind is EventKind.PUBLISHED), default=0)
    if repair is None or latest <= max(repair, published):
        return
    (one,) = [one for one in events if one.number == latest]
    raise ChangedMeanwhile(
        _(
            "{day} was repaired by {who} at {time}, after you had looked at it: {why} Nothing was "
            "published. Published now, the plan would take the place of the repair: look at the "
            "day as it is now, then decide."
        ).format(
            day=day_words(day),
            who=one.who or _("somebody"),
            time=format(one.received_at.astimezone(zone), "%H:%M"),
            why=one.why if one.why.endswith(".") else f"{one.why}.",
        )
    )


def _has_changed(session: Session, week: IsoWeek, day: date, version: int) -> bool:
    """Whether the plan has other routes on `day` than the version that was seen."""
    if store.present_version(session, week) == version:
        return False
    try:
        seen = store.read_version(session, week, version).plan
    except NotFound:
        return True
    return _routes(seen, day) != _routes(read_plan(session, week), day)


def _routes(plan: WeekPlan, day: date) -> dict[str, Route]:
    return {one.technician_id: one for one in plan.routes if one.day == day and one.stops}
