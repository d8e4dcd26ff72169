"""`dispatch what-if` and `dispatch hiring`: load and cost as they would be."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, open_book, say, show_list
from dispatch.cli.weeks import long_run
from dispatch.rhythms import Rhythm
from dispatch.words import _


class Kind(StrEnum):
    """What can be supposed."""

    LEAVES = "leaves"
    HIRED = "hired"
    BOUGHT = "bought"
    RHYTHM = "rhythm"


def what_if_command(
    kind: Annotated[Kind, typer.Argument(help="leaves, hired, bought or rhythm.")],
    technician: Annotated[
        str | None, typer.Option(help="Who leaves, or whom to hire like.")
    ] = None,
    count: Annotated[int, typer.Option(min=1, max=500, help="Pools bought.")] = 40,
    lat: Annotated[float | None, typer.Option(help="Middle of the pools bought, degrees.")] = None,
    lon: Annotated[float | None, typer.Option(help="Middle of the pools bought, degrees.")] = None,
    radius_m: Annotated[float, typer.Option(help="How far they lie from it, metres.")] = 1500.0,
    service_min: Annotated[int, typer.Option(help="Minutes of a visit there.")] = 30,
    rhythm: Annotated[
        Rhythm, typer.Option(help="Of the pools bought, or of weekly customers from then on.")
    ] = Rhythm.WEEKLY,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Compare a typical week of today with what if; no plan and no customer is touched."""
    from dispatch.actions import what_if

    wish = {
        "kind": str(kind),
        "technician_id": technician,
        "count": count,
        "lat": lat,
        "lon": lon,
        "radius_m": radius_m,
        "service_min": service_min,
        "rhythm": str(rhythm),
    }
    with long_run("Stopping.") as run:
        found = what_if.reckon_what_if(
            run.engine,
            run.settings,
            wish,
            today=run.settings.today(),
            progress=run.report,
            should_stop=run.should_stop,
        )
    if not (to_csv or to_json):
        say(
            _("{words}; a week on average from {first_week} on:").format(
                words=found.words, first_week=found.first_week
            )
        )
    show_list(what_if.compared_list(found), _("What if"), to_csv=to_csv, to_json=to_json)


def hiring_command(
    growth: Annotated[float, typer.Option(help="Growth in percent a month.")] = 0.0,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show the year's load against what the technicians can hold, month by month."""
    from dispatch.actions import what_if

    with open_book(read_only=True) as (session, settings):
        table = what_if.month_list(what_if.hiring(session, settings, settings.today(), growth))
    show_list(table, _("When to hire"), to_csv=to_csv, to_json=to_json)
