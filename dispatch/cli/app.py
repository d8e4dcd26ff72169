"""The commands, put together."""

from __future__ import annotations

import typer

from dispatch.actions.lists import ListTable
from dispatch.cli import (
    balance,
    day,
    demo,
    desk,
    export,
    feeds,
    gate_codes,
    imports,
    learnt,
    loads,
    maps,
    notices,
    people,
    records,
    serve,
    single,
    standing,
    upkeep,
    water,
    weeks,
    what_if,
)
from dispatch.cli.console import CsvOption, JsonOption, show_list
from dispatch.cli.operation import add_operation
from dispatch.settings import ENV_PREFIX, Settings, load_settings
from dispatch.words import _

app = typer.Typer(
    help="Plan the week of a company that looks after residential swimming pools.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.add_typer(maps.app, name="map")
app.add_typer(single.sites_app, name="sites")
app.add_typer(single.technicians_app, name="technicians")
app.add_typer(single.holds_app, name="holds")
app.add_typer(single.one_offs_app, name="one-offs")
app.add_typer(records.records_app, name="records")
app.add_typer(records.follow_ups_app, name="follow-ups")
app.add_typer(water.water_app, name="water")
app.add_typer(learnt.learnt_app, name="learnt")
app.add_typer(upkeep.app, name="upkeep")
app.add_typer(standing.app, name="standing")
app.add_typer(people.app, name="people")
app.add_typer(people.tokens_app, name="tokens")
app.add_typer(gate_codes.app, name="gate-codes")
app.command("audit")(people.audit_command)
app.command("load")(learnt.load_command)
app.command("due")(weeks.due_command)
app.add_typer(desk.week_app, name="week")
app.add_typer(day.day_app, name="day")
app.command("export")(export.export_command)
app.command("import")(imports.import_command)
app.command("plan")(weeks.plan_command)
app.command("show")(weeks.show_command)
app.command("balance")(balance.balance_command)
app.command("loads")(loads.loads_command)
app.command("overtime")(loads.overtime_command)
app.command("what-if")(what_if.what_if_command)
app.command("hiring")(what_if.hiring_command)
app.command("day-sheet")(feeds.day_sheet_command)
app.command("calendar")(feeds.calendar_command)
app.command("visit-link")(feeds.visit_link_command)
app.command("notices")(notices.notices_command)
app.command("serve")(serve.serve_command)
app.command("demo")(demo.demo_command)
add_operation(app)


@app.command("settings")
def settings_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Show every setting: its environment variable, its value and what it is for."""
    settings = load_settings()
    rows = tuple(
        (
            ENV_PREFIX + name.upper(),
            _shown(name, settings),
            field.description,
        )
        for name, field in Settings.model_fields.items()
    )
    table = ListTable(("variable", "value", "meaning"), rows)
    show_list(table, _("Settings"), to_csv=to_csv, to_json=to_json)


def _shown(name: str, settings: Settings) -> str:
    value = getattr(settings, name)
    if name == "database_url":
        return settings.shown_database_url
    if name in ("metrics_token", "mail_password") and value:
        return "***"
    if isinstance(value, tuple):
        return ";".join(map(str, value))
    return "" if value is None else str(value)
