"""The commands, put together."""

from __future__ import annotations

import typer

from dispatch.actions.lists import ListTable
from dispatch.cli import book, demo, maps, serve, weeks
from dispatch.cli.console import CsvOption, JsonOption, show_list
from dispatch.settings import ENV_PREFIX, Settings, load_settings

app = typer.Typer(
    help="Plan the week of a company that looks after residential swimming pools.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.add_typer(maps.app, name="map")
app.add_typer(book.sites_app, name="sites")
app.add_typer(book.technicians_app, name="technicians")
app.add_typer(book.holds_app, name="holds")
app.command("due")(weeks.due_command)
app.command("plan")(weeks.plan_command)
app.command("show")(weeks.show_command)
app.command("serve")(serve.serve_command)
app.command("demo")(demo.demo_command)


@app.command("settings")
def settings_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Show every setting: its environment variable, its value and what it is for."""
    settings = load_settings()
    rows = tuple(
        (
            ENV_PREFIX + name.upper(),
            _shown(getattr(settings, name)),
            field.description,
        )
        for name, field in Settings.model_fields.items()
    )
    table = ListTable(("variable", "value", "meaning"), rows)
    show_list(table, "Settings", to_csv=to_csv, to_json=to_json)


def _shown(value: object) -> str:
    if isinstance(value, tuple):
        return ";".join(value)
    return "" if value is None else str(value)
