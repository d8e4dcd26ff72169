"""The curve between even hours and driving of a week: reckoning it, and reading it again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from pydantic import TypeAdapter
from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.actions.week_desk import (
    Desk,
    as_it_stands,
    open_desk,
    open_problem,
    whole_week,
)
from dispatch.actions.week_inputs import laid_out, read_inputs
from dispatch.clock import IsoWeek
from dispatch.errors import NotFound
from dispatch.planning.progress import Report, ShouldStop, never, silent
from dispatch.settings import Settings
from dispatch.store.db import transaction
from dispatch.store.plan_versions import keeps_something
from dispatch.store.standing import Study, read_study, write_study
from dispatch.words import _

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.planning.balance import BalancePoint
    from dispatch.planning.placed import Placed
    from dispatch.planning.plan import Route
    from dispatch.planning.problem import Problem

STUDY = "balance"


@dataclass(frozen=True, slots=True)
class ShareFigures:
    """A technician's week beside the fair share, in seconds of paid work."""

    technician_id: str
    name: str
    work_s: int
    fair_s: int


@dataclass(frozen=True, slots=True)
class PointFigures:
    """One point of the curve; `band_min` is None where hours are not looked at.

    `cost_s` is without the price of unevenness; `changes` are visits away from their usual
    technician or weekday.
    """

    band_min: int | None
    farthest_s: int
    spread_s: int
    drive_s: int
    cost_s: int
    overtime_s: int
    unplaced: int
    changes: int
    shares: tuple[ShareFigures, ...]


@dataclass(frozen=True, slots=True)
class CurveFigures:
    """The curve of a week, widest band first; `is_cap` and `price` as in `Evening`.

    Of its `visits`, `kept_visits` stay at every point, because their routes are published or over,
    or because they are locked.
    """

    week: str
    made_at: datetime
    price: float
    is_cap: bool
    points: tuple[PointFigures, ...]
    kept_visits: int = 0
    visits: int = 0

    @property
    def kept_words(self) -> str:
        """What stays at every point, in a sentence; empty where everything may move."""
        if not self.kept_visits:
            return ""
        if self.kept_visits == self.visits:
            return _(
                "Every visit that has a place is published, over or locked: nothing can be evened "
                "out any more, and all bands give the same figures."
            )
        return _(
            "{kept} of {visits} visits stay at every point, because they are published, over or "
            "locked."
        ).format(kept=self.kept_visits, visits=self.visits)


_CURVE = TypeAdapter(CurveFigures)


def reckon_balance(
    engine: Engine,
    settings: Settings,
    week: IsoWeek,
    *,
    today: date,
    iterations: int | None = None,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> CurveFigures:
    """Reckon the curve of a week and keep it; no plan is touched.

    What planning leaves alone, as published routes and locks, stays at every point as it is.

    Raises
    ------
    DispatchError
        As `plan_week` does, when the week cannot be planned at all.
    """
    from dispatch.planning.balance import balance_curve

    with transaction(engine, read_only=True) as session:
        inputs = read_inputs(session, settings, week, today)
        is_kept = keeps_something(session, week, today)
        desk = open_desk(session, settings, week, today) if is_kept else None
    asked = _asked(settings, desk) if desk else _Asked(laid_out(settings, week, today, inputs))
    points = balance_curve(
        asked.problem,
        [60 * minutes for minutes in settings.even_bands_min],
        price=settings.even_price,
        is_cap=settings.even_cap,
        seed=settings.seed,
        iterations=settings.default_iterations if iterations is None else iterations,
        runs=settings.search_runs,
        start=asked.start,
        whole=asked.whole,
        progress=progress,
        should_stop=should_stop,
    )
    names = {one.id: one.name for one in inputs.technicians}
    made = CurveFigures(
        str(week),
        settings.now(),
        settings.even_price,
        settings.even_cap,
        tuple(_figures(point, names, asked) for point in points),
        asked.kept_visits,
        asked.visits,
    )
    with transaction(engine) as session:
        kept = Study(STUDY, str(week), made.made_at, _CURVE.dump_python(made, mode="json"))
        write_study(session, kept)
    return made


def balance(session: Session, week: IsoWeek) -> CurveFigures:
    """The latest curve of a week.

    Raises
    ------
    NotFound
        When none has been reckoned.
    """
    kept = read_study(session, STUDY, str(week))
    if kept is None:
        raise NotFound(
            _("The balance of week {week} has not been reckoned yet.").format(week=week),
            command=f"dispatch balance {week}",
        )
    return _CURVE.validate_python(kept.result)


def curve_list(curve: CurveFigures) -> ListTable:
    """The points of a curve, minutes rounded to one decimal."""
    columns = ("band_min", "farthest_min", "spread_min", "drive_h", "cost_h", "overtime_h")
    rows = tuple(
        (
            one.band_min,
            round(one.farthest_s / 60, 1),
            round(one.spread_s / 60, 1),
            round(one.drive_s / 3600, 2),
            round(one.cost_s / 3600, 2),
            round(one.overtime_s / 3600, 2),
            one.changes,
            one.unplaced,
        )
        for one in curve.points
    )
    return ListTable((*columns, "changes", "unplaced"), rows)


def share_list(curve: CurveFigures) -> ListTable:
    """Hours of each technician at each point of a curve, beside the fair share."""
    columns = ("band_min", "technician_id", "technician", "work_h", "fair_h")
    rows = tuple(
        (
            point.band_min,
            one.technician_id,
            one.name,
            round(one.work_s / 3600, 2),
            round(one.fair_s / 3600, 2),
        )
        for point in curve.points
        for one in point.shares
    )
    return ListTable(columns, rows)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a curve is reckoned of: the problem, and what stays of the week besides."""

    problem: Problem
    whole: Problem | None = None
    start: tuple[tuple[Placed, ...], ...] | None = None
    fixed: tuple[Route, ...] = ()
    fixed_changes: int = 0
    kept_visits: int = 0
    visits: int = 0


def _asked(settings: Settings, desk: Desk) -> _Asked:
    """What planning the week again would begin with."""
    from dispatch.edits.again import set_apart
    from dispatch.edits.draft import orders_of

    problem = open_problem(settings, desk)
    draft, present, kept = as_it_stands(desk, problem)
    free, fixed, _ = set_apart(problem, present, kept)
    past = [one for one in present.routes if (one.technician_id, one.day) in desk.over]
    held = {stop.visit_id for route in (*past, *fixed) for stop in route.stops}
    return _Asked(
        free,
        whole_week(settings, desk),
        orders_of(free, draft),
        (*past, *fixed),
        sum(one.visit_id in held for one in present.changes),
        len(held | kept.visits.keys()),
        sum(len(route.stops) for route in present.routes),
    )


def _figures(point: BalancePoint, names: dict[str, str], asked: _Asked) -> PointFigures:
    plan = point.plan
    fixed_drive_s = sum(route.drive_s for route in asked.fixed)
    return PointFigures(
        band_min=None if point.band_s is None else point.band_s // 60,
        farthest_s=point.farthest_s,
        spread_s=point.spread_s,
        drive_s=plan.drive_s + fixed_drive_s,
        cost_s=point.cost_s + fixed_drive_s,
        overtime_s=sum(route.overtime_s for route in (*plan.routes, *asked.fixed)),
        unplaced=len(plan.unplaced),
        changes=len(plan.changes) + asked.fixed_changes,
        shares=tuple(
            ShareFigures(
                one.technician_id,
                names.get(one.technician_id, one.technician_id),
                one.work_s,
                one.fair_s,
            )
            for one in point.shares
        ),
    )
