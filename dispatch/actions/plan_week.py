"""Planning a week: a short read, a long search with the database closed, a short write."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.due import closed_days, owed
from dispatch.actions.learnt import sites_to_plan_with
from dispatch.actions.maps import drive_times, road_map
from dispatch.actions.open_work import all_work
from dispatch.actions.upkeep_now import due_of
from dispatch.clock import IsoWeek
from dispatch.closed_days import HolidayRule
from dispatch.errors import Cancelled, InputsChanged, NothingToPlan, WeekInPast
from dispatch.one_offs import OneOff
from dispatch.planning.plan import WeekPlan
from dispatch.planning.progress import Report, ShouldStop, never, silent
from dispatch.settings import Settings
from dispatch.sites import Hold, Site
from dispatch.store.book import read_holds, read_sites, read_technicians
from dispatch.store.db import transaction
from dispatch.store.one_off_stops import read_one_off_days
from dispatch.store.plans import read_inputs_digest, write_plan
from dispatch.store.rows import hold_columns, site_columns, technician_columns
from dispatch.store.service_plan_rows import one_off_columns
from dispatch.technicians import Technician
from dispatch.upkeep import UpkeepDue

MOVING_PARTS = (
    "sites",
    "technicians",
    "holds",
    "one_offs",
    "planned",
    "holiday_rule",
    "closed",
    "upkeep",
    "map_digest",
)


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that a week is planned from, the drive times aside (they follow from it)."""

    sites: list[Site]
    technicians: list[Technician]
    holds: list[Hold]
    one_offs: list[OneOff]
    planned: dict[str, tuple[date, ...]]  # visits of one-off work in plans of other weeks
    holiday_rule: HolidayRule
    closed: frozenset[date]
    upkeep: tuple[UpkeepDue, ...]
    map_digest: str

    @property
    def digest(self) -> str:
        """SHA-256 over everything; equal inputs have equal digests."""
        everything = [
            [site_columns(site) for site in self.sites],
            [technician_columns(technician) for technician in self.technicians],
            [hold_columns(hold) for hold in self.holds],
            [one_off_columns(work) for work in self.one_offs],
            sorted(self.planned.items()),
            self.holiday_rule,
            sorted(self.closed),
            [repr(one) for one in self.upkeep],
            self.map_digest,
        ]
        return hashlib.sha256(json.dumps(everything, default=str).encode()).hexdigest()


def plan_week(
    engine: Engine,
    settings: Settings,
    week: IsoWeek,
    *,
    today: date,
    seed: int | None = None,
    iterations: int | None = None,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> WeekPlan:
    """Plan `week` and store the plan; an older plan of the week stays until the new one is there.

    Parameters
    ----------
    today
        The day it is, from which a week is over or not and a visit is overdue or not.
    seed, iterations
        Those of the settings when not given; the same inputs, seed and iterations give the same
        plan.
    should_stop
        Asked now and then; once it says yes, the best plan so far is stored.

    Raises
    ------
    WeekInPast
        When the week ended before `today`.
    NothingToPlan
        Without any site or technician.
    NoMap, OffStreet
        Without a street map, or with a technician whose depot lies off the streets.
    Cancelled
        When `should_stop` says yes before the search has begun.
    InputsChanged
        When sites, technicians, holds or the map changed meanwhile; nothing is stored.
    """
    from dispatch.planning.week import plan_week as search_week  # compiled code, slow to import

    _check_not_over(week, today)
    with transaction(engine, read_only=True) as session:
        inputs = _read_inputs(session, settings, week)
    _check_not_empty(inputs)
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
    if should_stop():
        raise Cancelled(
            f"Planning week {week} was stopped before the search began; nothing was changed."
        )
    plan = search_week(
        week,
        inputs.sites,
        inputs.technicians,
        due.due,
        inputs.upkeep,
        times.matrix,
        inputs.closed,
        seed=settings.seed if seed is None else seed,
        iterations=settings.default_iterations if iterations is None else iterations,
        runs=settings.search_runs,
        progress=progress,
        should_stop=should_stop,
        no_drive=times.no_drive,
    )
    with transaction(engine) as session:
        _check_unmoved(inputs, _read_inputs(session, settings, week))
        write_plan(session, plan, inputs.upkeep, inputs.digest)
    return plan


def is_outdated(session: Session, settings: Settings, week: IsoWeek) -> bool:
    """Whether what the plan of `week` was made from has changed since.

    Raises
    ------
    NotFound
        When the week has not been planned.
    """
    made_from = read_inputs_digest(session, week)
    return _read_inputs(session, settings, week).digest != made_from


def _read_inputs(session: Session, settings: Settings, week: IsoWeek) -> Inputs:
    sites = sites_to_plan_with(session, settings, read_sites(session))
    return Inputs(
        sites=sites,
        technicians=read_technicians(session),
        holds=read_holds(session),
        one_offs=all_work(session),
        planned=read_one_off_days(session, week),
        holiday_rule=settings.holiday_rule,
        closed=closed_days(settings, week),
        upkeep=due_of(session, settings, week, sites),
        map_digest=road_map(settings).digest,
    )


def _check_not_over(week: IsoWeek, today: date) -> None:
    if week.sunday < today:
        raise WeekInPast(
            f"Week {week} ended on {week.sunday} and cannot be planned any more: plan "
            f"{IsoWeek.of(today)} or a later week."
        )


def _check_not_empty(inputs: Inputs) -> None:
    for kind, found in (("sites", inputs.sites), ("technicians", inputs.technicians)):
        if not found:
            raise NothingToPlan(
                f"There are no {kind} to plan with: import them with "
                f"'dispatch {kind} import FILE.csv'."
            )


def _check_unmoved(before: Inputs, now: Inputs) -> None:
    if before.digest == now.digest:
        return
    moved = [name for name in MOVING_PARTS if getattr(before, name) != getattr(now, name)]
    names = {"one_offs": "one-off work", "planned": "plans of other weeks"}
    names |= {
        "upkeep": "upkeep due",
        "closed": "holidays",
        "holiday_rule": "holiday rule",
        "map_digest": "street map",
    }
    raise InputsChanged(
        f"The {' and '.join(names.get(name, name) for name in moved)} changed while the week was "
        "planned, so the plan was not stored and the old one, if any, is still there: plan again."
    )
