"""`dispatch learnt` and `dispatch load`: figures that come out of records."""

from __future__ import annotations

from typing import Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, open_book, say, show_list
from dispatch.clock import parse_day
from dispatch.words import _, counted

learnt_app = typer.Typer(help="Minutes and drive times learnt from records.", no_args_is_help=True)


@learnt_app.command("minutes")
def minutes_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Show each site's minutes agreed, planned, actual and learnt."""
    from dispatch.actions.learnt import planned_and_actual
    from dispatch.actions.learnt_lists import minutes_list

    with open_book(read_only=True) as (session, settings):
        table = minutes_list(planned_and_actual(session, settings))
        switched_on = settings.use_learnt_minutes
    show_list(table, _("Minutes planned and actual"), to_csv=to_csv, to_json=to_json)
    if not switched_on and not to_csv and not to_json:
        note(
            _(
                "Weeks are planned with the agreed minutes; DISPATCH_USE_LEARNT_MINUTES changes "
                "that."
            )
        )


@learnt_app.command("paces")
def paces_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Show technicians' paces, and the minutes that each upkeep adds."""
    from dispatch.actions.learnt import learnt_minutes
    from dispatch.actions.learnt_lists import pace_list, upkeep_minutes_list

    with open_book(read_only=True) as (session, settings):
        found = learnt_minutes(session, settings)
    show_list(pace_list(found), _("Paces"), to_csv=to_csv, to_json=to_json)
    if not to_csv and not to_json:
        show_list(upkeep_minutes_list(found), _("Minutes that upkeep adds"))


@learnt_app.command("drives")
def drives_command(
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
    apply: Annotated[
        bool, typer.Option("--apply", help="Count with the learnt factors from now on.")
    ] = False,
) -> None:
    """Compare gaps between stops with the map's drive times, by region and time of day."""
    from dispatch.actions.learnt import apply_drives, learn_drives
    from dispatch.actions.learnt_lists import drive_list

    with open_book(read_only=True) as (session, settings):
        found = learn_drives(session, settings)
    show_list(
        drive_list(found),
        counted("{n} drive", "{n} drives", found.gaps),
        to_csv=to_csv,
        to_json=to_json,
    )
    if apply:
        apply_drives(settings, found)
        say(_("Factors written to {factors_file}.").format(factors_file=settings.factors_file))


def load_command(
    technician: Annotated[str, typer.Argument(metavar="TECHNICIAN", help="Id of the technician.")],
    day: Annotated[str, typer.Argument(metavar="DAY", help="As 2026-11-30.")],
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show what goes on a truck for a day, and whether it may be carried."""
    from dispatch.actions.loads import load_table
    from dispatch.actions.paper_day import loaded_day

    with open_book(read_only=True) as (session, settings):
        customary = settings.country == "US"
        on = parse_day(day)
        _sheet, found = loaded_day(session, settings, technician, on, customary=customary)
    show_list(
        load_table(found),
        _("Load of {technician} on {day}").format(technician=technician, day=day),
        to_csv=to_csv,
        to_json=to_json,
    )
    if to_csv or to_json:
        return
    say(
        _(
            "{mass_kg:.0f} of {payload_kg:.0f} kg; regulated {regulated_kg:.0f} of "
            "{most_regulated_kg:.0f} kg gross."
        ).format(
            mass_kg=found.mass_kg,
            payload_kg=found.payload_kg,
            regulated_kg=found.regulated_kg,
            most_regulated_kg=found.most_regulated_kg,
        )
    )
    for violation in found.violations:
        note(violation.reason)
    for caution in found.cautions:
        note(caution)
