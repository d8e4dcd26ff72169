"""`dispatch upkeep`: the table of upkeep, upkeep spread over weeks, lives forecast."""

from __future__ import annotations

from typing import Annotated

import typer
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bar

from dispatch.cli.console import CsvOption, JsonOption, notes, open_book, say, show_list
from dispatch.cli.weeks import stopped_by_ctrl_c
from dispatch.errors import InvalidValue
from dispatch.settings import load_settings
from dispatch.words import N_, _

app = typer.Typer(help="Upkeep: its table, its weeks, its forecasts.", no_args_is_help=True)

KindArgument = Annotated[str, typer.Argument(metavar="KIND", help="As sand-change.")]


@app.command("list")
def list_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List the kinds of upkeep as the company has them."""
    from dispatch.actions import upkeep_table

    with open_book(read_only=True) as (session, _settings):
        table = upkeep_table.kind_list(upkeep_table.kinds(session))
    show_list(table, _("Kinds of upkeep"), to_csv=to_csv, to_json=to_json)


@app.command("set")
def set_command(
    kind: KindArgument,
    changes: Annotated[
        list[str], typer.Argument(metavar="FIELD=VALUE...", help="As due='5 years' minutes=120.")
    ],
) -> None:
    """Change fields of a kind of upkeep, all or nothing."""
    from dispatch.actions import upkeep_table

    texts: dict[str, str] = {}
    for change in changes:
        name, sign, value = change.partition("=")
        if not sign:
            raise InvalidValue(
                _("'{change}' is no change: write FIELD=VALUE, as minutes=120.").format(
                    change=change
                )
            )
        texts[name] = value
    with open_book(read_only=False) as (session, _settings):
        rule = upkeep_table.change_kind(session, kind, texts)
    say(
        _("{title} is changed: {columns}.").format(
            title=rule.title, columns=", ".join(sorted(texts))
        )
    )


@app.command("reset")
def reset_command(kind: KindArgument) -> None:
    """Take a kind of upkeep back to what was delivered."""
    from dispatch.actions import upkeep_table

    with open_book(read_only=False) as (session, _settings):
        rule = upkeep_table.reset_kind(session, kind)
    say(_("{title} is as it was delivered.").format(title=rule.title))


@app.command("level")
def level_command(
    weeks: Annotated[int, typer.Option(help="Weeks from the next one on, up to 60.")] = 52,
) -> None:
    """Spread upkeep over the coming weeks; Ctrl-C stops and keeps the weeks set before."""
    from dispatch.actions.level_upkeep import level_upkeep
    from dispatch.levelling.values import Progress
    from dispatch.store.db import make_engine

    settings = load_settings()
    engine = make_engine(settings)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    words = N_("Stopping; the weeks set before stay. Ctrl-C once more gives up.")
    with (
        Bar(*columns, TimeElapsedColumn(), console=notes(), transient=True) as bar,
        stopped_by_ctrl_c(words) as stop,
    ):
        task = bar.add_task("Technicians", total=None)

        def report(progress: Progress) -> None:
            bar.update(task, completed=progress.solved, total=progress.technicians)

        made = level_upkeep(
            engine,
            settings,
            today=settings.today(),
            weeks=weeks,
            say=report,
            should_stop=stop.is_set,
        )
    engine.dispose()
    say(
        _(
            "{slots} upkeep set for {weeks} weeks from {first_week} on, {left_out} left "
            "out; cost {cost:.0f}, none can cost less than {bound:.0f} (gap {gap:.2%})."
        ).format(
            slots=len(made.slots),
            weeks=weeks,
            first_week=made.first_week,
            left_out=len(made.left_out),
            cost=made.cost,
            bound=made.bound,
            gap=made.gap,
        )
    )
    say(*(one.reason for one in made.left_out))


@app.command("weeks")
def weeks_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List the upkeep with the week it is set for."""
    from dispatch.actions import level_upkeep

    with open_book(read_only=True) as (session, _settings):
        kept = level_upkeep.latest(session)
    table = level_upkeep.slot_list(kept.slots)
    show_list(table, _("Upkeep in its weeks"), to_csv=to_csv, to_json=to_json)


@app.command("year")
def year_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List each technician's weeks: shift, visits, driving, room and upkeep, in minutes."""
    from dispatch.actions import level_upkeep

    with open_book(read_only=True) as (session, _settings):
        kept = level_upkeep.latest(session)
    table = level_upkeep.load_list(kept.loads)
    show_list(table, _("The year's load"), to_csv=to_csv, to_json=to_json)


@app.command("forecast")
def forecast_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Forecast the lives of anodes, salt cells and filter media."""
    from dispatch.actions import forecasts

    with open_book(read_only=True) as (session, settings):
        table = forecasts.forecast_list(forecasts.forecasts(session, settings.today()))
    show_list(table, _("Forecasts, 80 % interval"), to_csv=to_csv, to_json=to_json)
