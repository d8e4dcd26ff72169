"""`dispatch demo`: this week and the next of an invented company in an invented town."""

from __future__ import annotations

import hashlib
import json
import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import note, say, show_list
from dispatch.cli.demo_days import WHO, live
from dispatch.cli.serve import DEFAULT_HOST, DEFAULT_PORT, PortOption, free_port, serve
from dispatch.cli.ways_in import demo_links
from dispatch.cli.weeks import progress_bar, stopped_by_ctrl_c, summary_of
from dispatch.clock import IsoWeek
from dispatch.settings import Settings, load_settings
from dispatch.words import _

if TYPE_CHECKING:
    from sqlalchemy import Engine

FOLDER = "demo"  # below the data folder; the company's own database is never touched
PUBLISHED_DAYS = 2  # of next week, for whoever looks on a weekend
PRESENT_ITERATIONS = 5_000  # for the present week, which is half over: some seconds are enough
STREETS = "streets.osm.pbf"
CREDIT = "Invented town, invented company"


@dataclass
class Stages:
    """Stopwatch over the stages of a long command: seconds, and peak memory at their ends."""

    rows: list[tuple[str, float, float]] = field(default_factory=list)

    @contextmanager
    def stage(self, words: str) -> Iterator[None]:
        """Tell and measure one stage."""
        note(f"{words} ...")
        began = time.monotonic()
        yield
        self.rows.append((words, round(time.monotonic() - began, 1), round(peak_memory_mb())))


def demo_command(
    port: PortOption = DEFAULT_PORT,
    open_browser: Annotated[
        bool, typer.Option("--open", help="Open the first page in a browser.")
    ] = False,
    no_serve: Annotated[
        bool, typer.Option("--no-serve", help="Plan the week and stop there.")
    ] = False,
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Throw away what an earlier demo left.")
    ] = False,
) -> None:
    """Show an invented company: map, sites, today's routes, next week's plan, in a browser.

    What an earlier start left is used again within the same week.
    """
    settings = load_settings(map_credit=CREDIT).in_folder(FOLDER)
    compiling: subprocess.Popen[bytes] | None = None
    if fresh:
        shutil.rmtree(settings.data_dir, ignore_errors=True)
    this_week = IsoWeek.of(settings.today())
    if is_ready(settings, this_week.monday):
        note(
            _("The demo of week {week} is there from an earlier start.").format(week=this_week.next)
        )
        _live(settings)
    else:
        compiling = prepare(settings, this_week)
    if no_serve:
        if compiling is not None:
            compiling.wait()
        return
    chosen = free_port(DEFAULT_HOST, port)
    if chosen != port:
        note(_("Port {port} is in use; taking {chosen}.").format(port=port, chosen=chosen))
    serve(settings, DEFAULT_HOST, chosen, open_browser=open_browser, links_of=demo_links)


def prepare(settings: Settings, this_week: IsoWeek) -> subprocess.Popen[bytes]:
    """Make everything from the invented town to the plans of `this_week` and the week after it.

    The process that is handed back still compiles the repairs of a day, which nobody asks for yet.
    """
    from dispatch.store.db import make_engine

    stages = Stages()
    compiling = _begin_to_compile("dispatch.planning.warm")
    folder = settings.data_dir / "region"
    with stages.stage(_("Inventing a town and a company")):
        _write_region(folder, this_week.monday)
    streets = hashlib.sha256((folder / STREETS).read_bytes()).hexdigest()
    if _state(settings).get("streets") != streets or not _has_map(settings):
        with stages.stage(_("Building the street map")):
            _build_map(settings, folder / STREETS)
    engine = make_engine(settings)
    with stages.stage(_("Taking in technicians, sites and holds")):
        _import_tables(engine, settings, folder)
    with stages.stage(_("Taking in four months of records")):
        _import_records(engine, settings, folder)
    with stages.stage(_("Computing drive times")):
        _compute_drive_times(engine, settings)
    with stages.stage(_("Compiling the search, once on this machine")):
        compiling.wait()
    repairs = _begin_to_compile("dispatch.day.warm")
    if not _is_planned(settings, this_week):
        with stages.stage(_("Planning week {week}").format(week=this_week)):
            rounds = settings.default_iterations or PRESENT_ITERATIONS
            _plan(engine, settings, this_week, this_week.monday, rounds)
    with stages.stage(_("Living this week as far as today")):
        _live(settings)
    with stages.stage(_("Planning week {week}").format(week=this_week.next)):
        words = _plan(engine, settings, this_week.next, settings.today())
    with stages.stage(_("Publishing the first days of next week")):
        _publish(engine, settings, this_week.next)
    with stages.stage(_("Drawing the routes along their streets")):
        _draw(engine, settings, this_week.next)
    engine.dispose()
    state = {"monday": this_week.monday.isoformat(), "streets": streets}
    _state_file(settings).write_text(json.dumps(state))
    say(words)
    _show_stages(stages)
    return repairs


def is_ready(settings: Settings, monday: date) -> bool:
    """Whether an earlier start made the demo for the week that begins on `monday`."""
    if _state(settings).get("monday") != monday.isoformat():
        return False
    return _has_map(settings) and _is_planned(settings, IsoWeek.of(monday).next)


def peak_memory_mb() -> float:
    """The most memory that this process ever held, in MB of 10^6 bytes."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak * 1024 / 1e6  # bytes there, KiB here


def _has_map(settings: Settings) -> bool:
    """Whether a street map is there that this version can read."""
    from dispatch.actions.maps import road_map
    from dispatch.errors import NoMap

    try:
        road_map(settings)
    except NoMap:
        return False
    return True


def _is_planned(settings: Settings, week: IsoWeek) -> bool:
    from dispatch.actions.read_plan import planned_weeks
    from dispatch.store.db import make_engine, transaction

    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        weeks = planned_weeks(session)
    engine.dispose()
    return week in weeks


def _state_file(settings: Settings) -> Path:
    return settings.data_dir / "demo.json"


def _state(settings: Settings) -> dict[str, str]:
    """What an earlier start finished; nothing when there was none or it was broken off."""
    try:
        state = json.loads(_state_file(settings).read_text())
    except (OSError, ValueError):
        return {}
    return state if isinstance(state, dict) else {}


def _begin_to_compile(module: str) -> subprocess.Popen[bytes]:
    """Compile what `module` compiles in a process of its own, beside what is done here meanwhile.

    Compiled code is found again by this process; were it to fail, whoever needs it compiles it.
    """
    return subprocess.Popen([sys.executable, "-m", module])  # noqa: S603 - our own words


def _write_region(folder: Path, as_of: date) -> None:
    import sample_region

    folder.mkdir(parents=True, exist_ok=True)
    sample_region.write(folder, as_of)


def _build_map(settings: Settings, file: Path) -> None:
    from dispatch.actions.maps import build_map

    build_map(settings, file, lambda stage: note(f"  {stage}"))


def _import_tables(engine: Engine, settings: Settings, folder: Path) -> None:
    from dispatch.actions import book, one_off_work
    from dispatch.cli.book import read_text
    from dispatch.store.db import transaction

    with transaction(engine) as session:
        book.import_technicians(session, settings, read_text(folder / "technicians.csv"))
        book.import_sites(session, settings, read_text(folder / "sites.csv"))
        book.import_holds(session, settings, read_text(folder / "holds.csv"))
        one_off_work.import_one_offs(session, settings, read_text(folder / "one_offs.csv"))


def _import_records(engine: Engine, settings: Settings, folder: Path) -> None:
    from dispatch.actions.record_files import import_record_lines
    from dispatch.cli.book import read_text
    from dispatch.store.db import transaction

    with transaction(engine) as session:
        found = import_record_lines(session, settings, read_text(folder / "records.jsonl"))
    for one in found.aside:
        note("  " + _("set aside: {error}").format(error=one.error))


def _compute_drive_times(engine: Engine, settings: Settings) -> None:
    from dispatch.actions.maps import drive_matrix_for
    from dispatch.store.db import transaction

    with transaction(engine, read_only=True) as session:
        drive_matrix_for(session, settings)


def _plan(
    engine: Engine, settings: Settings, week: IsoWeek, today: date, iterations: int | None = None
) -> str:
    from dispatch.actions.plan_week import plan_week

    with progress_bar() as report, stopped_by_ctrl_c() as stop:
        plan = plan_week(
            engine,
            settings,
            week,
            today=today,
            iterations=iterations,
            progress=report,
            should_stop=stop.is_set,
        )
    return summary_of(plan)


def _publish(engine: Engine, settings: Settings, week: IsoWeek) -> None:
    from dispatch.actions.day import publish_day
    from dispatch.actions.read_plan import week_plan
    from dispatch.store.db import transaction

    with transaction(engine) as session:
        days = sorted({route.day for route in week_plan(session, week).routes})
        for day in days[:PUBLISHED_DAYS]:
            publish_day(session, settings, day, who=WHO, at=settings.now())


def _live(settings: Settings) -> None:
    from dispatch.store.db import make_engine

    engine = make_engine(settings)
    live(engine, settings)
    engine.dispose()


def _draw(engine: Engine, settings: Settings, week: IsoWeek) -> None:
    from dispatch.actions.route_lines import route_lines
    from dispatch.store.db import transaction

    with transaction(engine, read_only=True) as session:
        route_lines(session, settings, week)


def _show_stages(stages: Stages) -> None:
    from dispatch.actions.lists import ListTable

    total = round(sum(row[1] for row in stages.rows), 1)
    rows = (*stages.rows, ("All", total, round(peak_memory_mb())))
    show_list(ListTable(("stage", "seconds", "peak memory so far, MB"), rows), _("Stages"))
