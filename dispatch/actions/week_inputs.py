"""What a week is planned from: read in one go, laid out for the planner, and told when it moved."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, is_dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlmodel import Session

from dispatch.actions.due import closed_days, owed
from dispatch.actions.learnt import sites_to_plan_with
from dispatch.actions.maps import drive_times, road_map
from dispatch.actions.open_work import all_work, work_before
from dispatch.actions.upkeep_now import as_if_undone, due_of
from dispatch.clock import IsoWeek
from dispatch.closed_days import HolidayRule
from dispatch.day.moments import on_the_clock
from dispatch.errors import Cancelled, InputsChanged, NothingToPlan, WeekInPast
from dispatch.one_offs import OneOff
from dispatch.planning.progress import ShouldStop
from dispatch.settings import Settings
from dispatch.sites import Hold, Site
from dispatch.standing.changes import sites_in
from dispatch.standing.values import StandingChange
from dispatch.store.book import read_holds, read_sites, read_technicians
from dispatch.store.one_off_stops import read_one_off_days
from dispatch.store.planned_days import read_last_planned
from dispatch.store.plans import read_inputs_digest
from dispatch.store.rows import hold_columns, technician_columns
from dispatch.store.service_plan_rows import one_off_columns, service_plan_columns
from dispatch.store.site_moves import before_records
from dispatch.store.standing import read_planned_changes
from dispatch.technicians import Technician
from dispatch.turns import DueBecause
from dispatch.upkeep import UpkeepDue
from dispatch.visits import VisitsDue
from dispatch.words import N_, _, joined

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.planning.balance import Evening
    from dispatch.planning.problem import Problem

NAMES = {"one_offs": N_("one-off work"), "planned": N_("plans of other weeks")} | {
    "holiday_rule": N_("holiday rule"),
    "closed": N_("holidays"),
    "map_digest": N_("street map"),
    "upkeep": N_("upkeep due"),
    "due": N_("visits due"),
}


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that a week is planned from, the drive times aside (they follow from it).

    `sites` are as planned with, and `standing` the changes of standing routes that are to come.
    What every record moves a little (last visits, equipment, learnt
    minutes and chemicals) counts as a change only by what it makes `due`: visits as the book has
    them, seen before the week began, one-off work as if the week had made none of its visits
    (`unvisited`), and upkeep, that done in the week among it (`undone`). Of the
    plans of other weeks those before it count; what later ones have taken over shows in `due`.
    When a site was `visited` last is no change either: no visit turns on it, but its best day does.
    """

    week: IsoWeek
    sites: list[Site]
    technicians: list[Technician]
    holds: list[Hold]
    one_offs: list[OneOff]
    unvisited: list[OneOff]
    planned: dict[str, tuple[date, ...]]  # visits of one-off work in plans of other weeks
    holiday_rule: HolidayRule
    closed: frozenset[date]
    upkeep: tuple[UpkeepDue, ...]
    undone: tuple[UpkeepDue, ...]
    map_digest: str
    agreed: tuple[Any, ...]  # of the sites, as the book has it
    due: tuple[VisitsDue, ...]
    standing: tuple[StandingChange, ...] = ()
    visited: dict[str, date] = field(default_factory=dict)  # last regular visits before the week

    @property
    def parts(self) -> dict[str, str]:
        """SHA-256 of each part by its name; what follows from others comes last."""
        columns: dict[str, Any] = {
            "sites": self.agreed,
            "technicians": [technician_columns(technician) for technician in self.technicians],
            "holds": [hold_columns(hold) for hold in self.holds],
            "one_offs": [one_off_columns(work) for work in self.unvisited],
            "planned": self._planned_before,
            "holiday_rule": self.holiday_rule,
            "closed": self.closed,
            "map_digest": self.map_digest,
            "upkeep": [replace(one, cause=None) for one in self.undone],  # the latest figures
            # why a visit is owed is told to readers; no plan turns on it
            "due": [replace(one, note="", because=DueBecause.RHYTHM) for one in self.due],
        }
        return {name: _digest(part) for name, part in columns.items()}

    @property
    def _planned_before(self) -> list[tuple[str, tuple[date, ...]]]:
        """Days of one-off work in the plans of earlier weeks."""
        found = {
            work_id: tuple(day for day in days if day < self.week.monday)
            for work_id, days in sorted(self.planned.items())
        }
        return [(work_id, days) for work_id, days in found.items() if days]

    @property
    def digest(self) -> str:
        """SHA-256 over everything; equal inputs have equal digests."""
        return _digest(self.parts)


def laid_out(settings: Settings, week: IsoWeek, today: date, inputs: Inputs) -> Problem:
    """The week as the planner sees it; raises what `plan_week` does before it searches."""
    from dispatch.planning.lay_out import build_problem
    from dispatch.planning.problem import Prices

    check_not_over(week, today)
    check_not_empty(inputs)
    due = owed(
        settings,
        week,
        today,
        sites=inputs.sites,
        technicians=inputs.technicians,
        holds=inputs.holds,
        one_offs=inputs.one_offs,
        planned=inputs.planned,
    )
    times = drive_times(settings, inputs.sites, inputs.technicians)
    return build_problem(
        week,
        inputs.sites,
        inputs.technicians,
        due.due,
        inputs.upkeep,
        times.matrix,
        closed_days=inputs.closed,
        no_drive=times.no_drive,
        prices=Prices.of_changes(settings.technician_change_min, settings.day_change_min),
        visited=inputs.visited,
    )


def is_outdated(session: Session, settings: Settings, week: IsoWeek) -> bool:
    """Whether what the plan of `week` was made from has changed since.

    A record of a visit outdates it only where something else is due in the week because of it,
    and what was done as planned is no change.

    Raises
    ------
    NotFound
        When the week has not been planned.
    """
    made_from = read_inputs_digest(session, week)
    return read_inputs(session, settings, week, settings.today()).digest != made_from


def read_inputs(session: Session, settings: Settings, week: IsoWeek, today: date) -> Inputs:
    """Everything that `week` is planned from, standing routes as they are to be in that week."""
    standing = tuple(read_planned_changes(session))
    book = sites_in(week, read_sites(session), standing)
    sites = sites_to_plan_with(session, settings, book)
    technicians = on_the_clock(read_technicians(session), week.days, settings.zone)
    holds = read_holds(session)
    one_offs, planned = all_work(session), read_one_off_days(session, week)
    has_begun = week.monday <= today
    unvisited = work_before(session, week) if has_begun else one_offs
    due = owed(
        settings,
        week,
        min(today, week.monday),  # that a day of the week has passed is no change
        sites=before_records(session, book, week) if has_begun else book,
        technicians=technicians,
        holds=holds,
        one_offs=unvisited,
        planned=planned,
    )
    upkeep = due_of(session, week, sites)
    return Inputs(
        week=week,
        sites=sites,
        technicians=technicians,
        holds=holds,
        one_offs=one_offs,
        unvisited=unvisited,
        planned=planned,
        holiday_rule=settings.holiday_rule,
        closed=closed_days(settings, week),
        upkeep=upkeep,
        undone=as_if_undone(session, week, sites, upkeep) if has_begun else upkeep,
        map_digest=road_map(settings).digest,
        agreed=(settings.use_learnt_minutes, *map(_agreed, book)),
        due=due.due,
        standing=standing,
        visited=_visited_last(session, week, today, sites),
    )


def _visited_last(
    session: Session, week: IsoWeek, today: date, sites: Sequence[Site]
) -> dict[str, date]:
    """By site id, the day of the last regular visit before `week`, of sites without agreed days.

    That of a plan where it is still to come, else as recorded; where nothing is, as planned.
    """
    found = dict[str, date]()
    if all(site.plan.usual_weekdays for site in sites):
        return found
    planned = read_last_planned(session, week.monday)
    for site in sites:
        recorded, ahead = site.plan.last_visit_on, planned.get(site.id)
        last = ahead if recorded is None or (ahead and ahead >= today) else recorded
        if last is not None and last < week.monday and not site.plan.usual_weekdays:
            found[site.id] = last
    return found


def _agreed(site: Site) -> tuple[Any, ...]:
    """What planning reads of a site, without the last visit, which `due` follows from."""
    columns = {**service_plan_columns(site.plan), "last_visit_on": None}
    return site.id, site.name, site.place, columns


def _digest(part: Any) -> str:
    return hashlib.sha256(json.dumps(part, default=_plain).encode()).hexdigest()


def _plain(value: Any) -> Any:
    """JSON form of values; sets in sorted order."""
    if isinstance(value, frozenset):
        return sorted(map(str, value))
    return asdict(value) if is_dataclass(value) and not isinstance(value, type) else str(value)


def check_not_stopped(week: IsoWeek, should_stop: ShouldStop) -> None:
    """Raise Cancelled when planning is to stop before the search has begun."""
    if should_stop():
        raise Cancelled(
            _(
                "Planning week {week} was stopped before the search began; nothing was changed."
            ).format(week=week)
        )


def evening_of(settings: Settings, even_min: int | None) -> Evening | None:
    """How to even the hours: with the band given, else the one set; None without either."""
    from dispatch.planning.balance import Evening

    band_min = settings.even_band_min if even_min is None else even_min
    if band_min is None:
        return None
    return Evening(60 * band_min, settings.even_price, settings.even_cap)


def check_not_over(week: IsoWeek, today: date) -> None:
    """Raise WeekInPast for a week that is over."""
    if week.sunday < today:
        raise WeekInPast(
            _(
                "Week {week} ended on {sunday} and cannot be planned any more: plan {of} or a "
                "later week."
            ).format(week=week, sunday=week.sunday, of=IsoWeek.of(today))
        )


def check_not_empty(inputs: Inputs) -> None:
    """Raise NothingToPlan without any site or technician."""
    if not inputs.sites:
        raise NothingToPlan(
            _("There are no sites to plan with: enter or import them first."),
            command="dispatch sites import FILE.csv",
        )
    if not inputs.technicians:
        raise NothingToPlan(
            _("There are no technicians to plan with: enter or import them first."),
            command="dispatch technicians import FILE.csv",
        )


def check_unmoved(before: Inputs, now: Inputs) -> None:
    """Raise InputsChanged, which names what has changed."""
    old, new = before.parts, now.parts
    moved = [name for name in old if old[name] != new[name]]
    if not moved:
        return
    causes = [name for name in moved if name != "due"] or moved
    raise InputsChanged(
        _(
            "The {name} changed while the week was planned, so the plan was not stored and the "
            "old one, if any, is still there: plan again."
        ).format(name=joined([_(NAMES.get(name, name)) for name in causes]))
    )
