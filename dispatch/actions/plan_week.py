"""Planning a week: a short read, a long search with the database closed, a short write."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Engine
from sqlmodel import Session

from dispatch import upkeep, visits
from dispatch.actions.due import closed_days
from dispatch.actions.maps import drive_times, road_map
from dispatch.clock import IsoWeek
from dispatch.errors import Cancelled, InputsChanged, NothingToPlan, WeekInPast
from dispatch.planning.plan import WeekPlan
from dispatch.planning.progress import Report, ShouldStop, never, silent
from dispatch.settings import Settings
from dispatch.sites import Hold, Site
from dispatch.store.book import read_holds, read_sites, read_technicians
from dispatch.store.db import transaction
from dispatch.store.plans import read_inputs_digest, write_plan
from dispatch.store.rows import hold_columns, site_columns, technician_columns
from dispatch.technicians import Technician


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that a week is planned from, the drive times aside (they follow from it)."""

    sites: list[Site]
    technicians: list[Technician]
    holds: list[Hold]
    closed: frozenset[date]
    map_digest: str

    @property
    def digest(self) -> str:
        """SHA-256 over everything; equal inputs have equal digests."""
        everything = [
            [site_columns(site) for site in self.sites],
            [technician_columns(technician) for technician in self.technicians],
            [hold_columns(hold) for hold in self.holds],
            sorted(self.closed),
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
    due = visits.visits_due(
        inputs.sites, week, today=today, holidays=inputs.closed, holds=inputs.holds
    )
    upkeep_now = upkeep.upkeep_due(inputs.sites, week)
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
        upkeep_now,
        times.matrix,
        inputs.closed,
        seed=settings.seed if seed is None else seed,
        iterations=settings.default_iterations if iterations is None else iterations,
        progress=progress,
        should_stop=should_stop,
        no_drive=times.no_drive,
    )
    with transaction(engine) as session:
        _check_unmoved(inputs, _read_inputs(session, settings, week))
        write_plan(session, plan, upkeep_now, inputs.digest)
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
    return Inputs(
        sites=read_sites(session),
        technicians=read_technicians(session),
        holds=read_holds(session),
        closed=closed_days(settings, week),
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
    moved = [
        name
        for name in ("sites", "technicians", "holds", "closed", "map_digest")
        if getattr(before, name) != getattr(now, name)
    ]
    names = {"closed": "holidays", "map_digest": "street map"}
    raise InputsChanged(
        f"The {' and '.join(names.get(name, name) for name in moved)} changed while the week was "
        "planned, so the plan was not stored and the old one, if any, is still there: plan again."
    )
