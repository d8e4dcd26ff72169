"""`dispatch due`, `dispatch plan` and `dispatch show`: a week before and after planning."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from threading import Event
from types import FrameType
from typing import TYPE_CHECKING, Annotated

import typer
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bar

from dispatch.actions.lists import ListTable
from dispatch.cli.console import CsvOption, JsonOption, note, notes, open_book, say, show_list
from dispatch.clock import IsoWeek
from dispatch.planning.plan import WeekPlan
from dispatch.planning.progress import Progress, Report, ShouldStop
from dispatch.settings import Settings, load_settings
from dispatch.words import N_, _, worded

if TYPE_CHECKING:
    from sqlalchemy import Engine
    from sqlmodel import Session

KEEPS_PLAN = N_("Stopping; the best plan so far is kept. Ctrl-C once more gives up.")
WeekArgument = Annotated[str, typer.Argument(metavar="WEEK", help="ISO week, as 2026-W49.")]


class DueList(StrEnum):
    """Lists of `dispatch due`."""

    VISITS = "visits"
    NOT_DUE = "not-due"
    UPKEEP = "upkeep"
    FINDINGS = "findings"  # what is wrong before the week is planned
    UNKNOWN = "unknown"  # equipment without the date its upkeep is counted from


class PlanList(StrEnum):
    """Lists of `dispatch show`."""

    STOPS = "stops"
    UNPLACED = "unplaced"
    PUT_OFF = "put-off"
    CHANGES = "changes"
    WORKLOADS = "workloads"


def due_command(
    week: WeekArgument,
    which: Annotated[
        DueList | None, typer.Option("--list", help="One list only; --csv and --json: visits.")
    ] = None,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show what is due in a week: visits, and upkeep of equipment."""
    wanted = [which] if which else [DueList.VISITS] if to_csv or to_json else list(DueList)
    with open_book(read_only=True) as (session, settings):
        tables = {one: _due_list(session, settings, IsoWeek.parse(week), one) for one in wanted}
    for kind, table in tables.items():
        _show(table, week, kind, to_csv, to_json, alone=which is not None)


def plan_command(
    week: WeekArgument,
    seed: Annotated[
        int | None, typer.Option(help="Another seed than that of the settings.")
    ] = None,
    iterations: Annotated[
        int | None, typer.Option(min=1, help="Iterations of the search; by default chosen by size.")
    ] = None,
    even: Annotated[
        int | None,
        typer.Option(
            "--even",
            min=0,
            max=2400,
            metavar="MINUTES",
            help="Even the hours: how far a week may lie from the fair share.",
        ),
    ] = None,
) -> None:
    """Plan a week; Ctrl-C ends the search and keeps the best plan so far."""
    from dispatch.actions.plan_week import plan_week
    from dispatch.actions.preflight import week_findings
    from dispatch.store.db import make_engine, transaction

    settings = load_settings()
    parsed = IsoWeek.parse(week)
    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        found = week_findings(session, settings, parsed, settings.today())
    for one in found:
        note(one.sentence)
    with progress_bar() as report, stopped_by_ctrl_c() as stop:
        plan = plan_week(
            engine,
            settings,
            parsed,
            today=settings.today(),
            seed=seed,
            iterations=iterations,
            even_min=even,
            progress=report,
            should_stop=stop.is_set,
        )
    engine.dispose()
    say(summary_of(plan))
    for kind in (PlanList.UNPLACED, PlanList.PUT_OFF):
        _show(_plan_list(plan, kind), week, kind, to_csv=False, to_json=False, alone=False)
    note(_("'dispatch show {week}' shows the routes.").format(week=week))


def show_command(
    week: WeekArgument,
    which: Annotated[
        PlanList | None, typer.Option("--list", help="One list only; --csv and --json: stops.")
    ] = None,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show the plan of a week."""
    from dispatch.actions import read_plan, week_lists

    wanted = [which] if which else [PlanList.STOPS] if to_csv or to_json else list(PlanList)
    parsed = IsoWeek.parse(week)
    with open_book(read_only=True) as (session, settings):
        plan = read_plan.week_plan(session, parsed)
        loads = week_lists.workload_list(read_plan.workloads(session, settings, parsed))
    if not (which or to_csv or to_json):
        say(summary_of(plan))
    for kind in wanted:
        table = loads if kind is PlanList.WORKLOADS else _plan_list(plan, kind)
        _show(table, week, kind, to_csv, to_json, alone=which is not None)


def summary_of(plan: WeekPlan) -> str:
    """A plan in one line."""
    stops = sum(len(route.stops) for route in plan.routes)
    return _(
        "Week {week}: {stops} visits in {routes} routes, {service_h:.1f} h of service and "
        "{drive_h:.1f} h of driving; {unplaced} unplaced, {put_off} upkeep put off, {changes} "
        "changes (seed {seed}, {iterations:,} iterations)."
    ).format(
        week=plan.week,
        stops=stops,
        routes=len(plan.routes),
        service_h=plan.service_s / 3600,
        drive_h=plan.drive_s / 3600,
        unplaced=len(plan.unplaced),
        put_off=len(plan.put_off),
        changes=len(plan.changes),
        seed=plan.seed,
        iterations=plan.iterations,
    )


@contextmanager
def progress_bar() -> Iterator[Report]:
    """A bar that a planning run reports to."""
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
    )
    with Bar(*columns, console=notes(), transient=True) as bar:
        task = bar.add_task(_("Drive times"), total=None)

        def report(progress: Progress) -> None:
            if not bar.tasks[0].total:
                note(_("Searching; Ctrl-C keeps the best plan so far."))
            hours = progress.best_cost_s / 3600
            words = _("Search: cost {hours:.1f} h, {unplaced} unplaced").format(
                hours=hours, unplaced=progress.unplaced
            )
            bar.update(
                task,
                description=words,
                completed=progress.iteration,
                total=progress.iterations,
            )

        yield report


@contextmanager
def stopped_by_ctrl_c(words: str = KEEPS_PLAN) -> Iterator[Event]:
    """An event that the first Ctrl-C sets; the second one interrupts as usual."""
    stop = Event()
    usual = signal.getsignal(signal.SIGINT)

    def on_interrupt(_signal: int, _frame: FrameType | None) -> None:
        stop.set()
        signal.signal(signal.SIGINT, usual)
        note(_(words))

    signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, usual)


@dataclass(frozen=True, slots=True)
class LongRun:
    """What a long reckoning in a shell is given."""

    settings: Settings
    engine: Engine
    report: Report
    should_stop: ShouldStop


@contextmanager
def long_run(words: str = KEEPS_PLAN) -> Iterator[LongRun]:
    """The company's data, a bar to report to, and a stop that the first Ctrl-C asks for."""
    from dispatch.store.db import make_engine

    settings = load_settings()
    engine = make_engine(settings)
    try:
        with progress_bar() as report, stopped_by_ctrl_c(words) as stop:
            yield LongRun(settings, engine, report, stop.is_set)
    finally:
        engine.dispose()


def _show(
    table: ListTable,
    week: str,
    kind: DueList | PlanList,
    to_csv: bool,
    to_json: bool,
    *,
    alone: bool,
) -> None:
    """Print a list of a week; an empty one among others is left out."""
    if table.rows or alone or to_csv or to_json:
        title = _("{week}: {list}").format(week=week, list=worded(kind))
        show_list(table, title, to_csv=to_csv, to_json=to_json)


def _due_list(session: Session, settings: Settings, week: IsoWeek, kind: DueList) -> ListTable:
    from dispatch.actions import due, week_lists
    from dispatch.actions.preflight import finding_list, week_findings

    if kind is DueList.UPKEEP:
        return week_lists.upkeep_list(due.upkeep_due(session, week))
    if kind is DueList.UNKNOWN:
        return week_lists.unknown_list(due.upkeep_unknown(session))
    if kind is DueList.FINDINGS:
        return finding_list(week_findings(session, settings, week, settings.today()))
    found = due.visits_due(session, settings, week, settings.today())
    if kind is DueList.NOT_DUE:
        return week_lists.not_due_list(found.not_due)
    return week_lists.visit_list(found.due)


def _plan_list(plan: WeekPlan, kind: PlanList) -> ListTable:
    from dispatch.actions import week_lists

    makers = {
        PlanList.STOPS: week_lists.stop_list,
        PlanList.UNPLACED: week_lists.unplaced_list,
        PlanList.PUT_OFF: week_lists.put_off_list,
        PlanList.CHANGES: week_lists.change_list,
    }
    return makers[kind](plan)
