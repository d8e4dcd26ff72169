"""`dispatch work` and `dispatch branches`: jobs on several machines, for several branches."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.actions.lists import Cell, ListTable
from dispatch.cli.console import CsvOption, JsonOption, note, say, show_list
from dispatch.cli.notices import told_by
from dispatch.clock import IsoWeek
from dispatch.errors import DispatchError, NotFound, SettingsError
from dispatch.operation_settings import BRANCH_HERE, BRANCHES
from dispatch.settings import Settings, load_settings
from dispatch.words import _, worded

if TYPE_CHECKING:  # the job library takes a second to import
    from api.jobs.queue import Jobs

branches_app = typer.Typer(
    help="Branches of one installation: list, plan all, tell all customers, jobs.",
    no_args_is_help=True,
)


def work_command() -> None:
    """Work on the jobs of all branches until told to end (Ctrl-C or SIGTERM).

    Any number of these may run, on any machines that reach the PostgreSQL database and share the
    data folder. A job whose worker dies is taken over by another one.
    """
    settings = load_settings()
    if not settings.uses_postgres:
        raise SettingsError(
            _(
                "Workers of their own need PostgreSQL (DISPATCH_DATABASE_URL); on SQLite "
                "'dispatch serve' works on the jobs itself."
            )
        )
    ended = threading.Event()
    for one in (signal.SIGINT, signal.SIGTERM):
        signal.signal(one, lambda *_: ended.set())
    with _jobs(settings, works=True):
        note(_("Working. Ctrl-C ends it; a plan under way keeps its best so far."))
        ended.wait()


@branches_app.command("list")
def list_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List the branches that have a folder of their own."""
    settings = load_settings()
    rows = tuple((name, str(settings.of_branch(name).data_dir)) for name in branch_names(settings))
    show_list(ListTable(("branch", "folder"), rows), _("Branches"), to_csv=to_csv, to_json=to_json)


@branches_app.command("plan")
def plan_command(
    week: Annotated[str, typer.Argument(metavar="WEEK", help="ISO week, as 2026-W49.")],
    names: Annotated[
        list[str] | None, typer.Argument(metavar="BRANCH...", help="Some only; all if left out.")
    ] = None,
) -> None:
    """Put one job for each branch into the queue: the planning of a week."""
    settings = load_settings()
    parsed = IsoWeek.parse(week)
    known = branch_names(settings)
    wanted = names or known
    unknown = [name for name in wanted if name not in known]
    if unknown or not wanted:
        raise NotFound(
            _(
                "There is no branch '{names}' in {folder}: a branch begins with "
                "DISPATCH_BRANCH=NAME and its first map or table."
            ).format(names=", ".join(unknown), folder=settings.root_dir / BRANCHES)
        )
    with _jobs(settings, works=False) as jobs:
        for name in wanted:
            job = jobs.plan_branch(name, parsed)
            say(f"{name}: {worded(job.state)} ({job.id})")


@branches_app.command("jobs")
def jobs_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List the latest jobs of all branches, newest first."""
    with _jobs(load_settings(), works=False) as jobs:
        rows = tuple(
            (branch, str(job.kind), str(job.state), job.attempt, job.id, job.detail)
            for branch, job in jobs.of_all_branches()
        )
    columns = ("branch", "kind", "state", "attempt", "id", "detail")
    show_list(ListTable(columns, rows), _("Jobs"), to_csv=to_csv, to_json=to_json)


@branches_app.command("notices")
def notices_command(
    dry: Annotated[
        bool, typer.Option("--try", help="List who would be told; send nothing.")
    ] = False,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Tell the customers of every branch, as 'dispatch notices' does those of one, for a timer.

    Trouble in one branch keeps no other waiting; then it exits with 1.
    """
    settings = load_settings()
    names = branch_names(settings)
    if len(names) > 1 and settings.public_url and BRANCH_HERE not in settings.public_url:
        raise SettingsError(
            _(
                "Each branch is served at an address of its own, and links to customers begin with "
                "it: write {here} in DISPATCH_PUBLIC_URL where the name of the branch stands, as "
                "https://{here}.pools.example.org."
            ).format(here=BRANCH_HERE)
        )
    columns: tuple[str, ...] = ("branch",)
    rows, troubles = list[tuple[Cell, ...]](), list[str]()
    for name in names:
        try:
            table, trouble = told_by(settings.of_branch(name), None, dry=dry)
        except DispatchError as error:
            troubles.append(f"{name}: {error}")
            continue
        columns = ("branch", *table.columns)
        rows += [(name, *row) for row in table.rows]
        troubles += [f"{name}: {trouble}"] if trouble else []
    title = _("Would be told") if dry else _("Messages")
    show_list(ListTable(columns, tuple(rows)), title, to_csv=to_csv, to_json=to_json)
    for one in troubles:
        note(one)
    if troubles:
        raise typer.Exit(1)


def branch_names(settings: Settings) -> list[str]:
    """Branches that have a folder, in the order of their names."""
    folder = settings.root_dir / BRANCHES
    return sorted(one.name for one in folder.iterdir() if one.is_dir()) if folder.is_dir() else []


@contextmanager
def _jobs(settings: Settings, *, works: bool) -> Iterator[Jobs]:
    from api.jobs.queue import Jobs
    from api.logs import open_log
    from dispatch.store.db import make_engine

    open_log(settings)
    engine = make_engine(settings)
    jobs = Jobs(settings, engine)
    jobs.open(works=works)
    try:
        yield jobs
    finally:
        jobs.close()
        engine.dispose()
