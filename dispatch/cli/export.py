"""`dispatch export`: everything in one file, in many formats."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dispatch.cli.console import note, open_book, write_file
from dispatch.cli.feeds import paper_of
from dispatch.clock import IsoWeek
from dispatch.words import _


def export_command(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="A .zip, .xlsx or .geojson file to write.")
    ],
    week: Annotated[str, typer.Option(help="ISO week whose plan goes along.")] = "",
) -> None:
    """Write everything: a .zip of all formats, or lists as .xlsx, or sites as .geojson.

    Gate codes are in none of them.
    """
    import json

    from dispatch.actions import export_all, read_plan
    from dispatch.feeds.week_files import week_files

    parsed = IsoWeek.parse(week) if week else None
    with open_book(read_only=True) as (session, settings):
        if file.suffix == ".xlsx":
            content = export_all.as_xlsx(export_all.all_lists(session, settings, parsed))
        elif file.suffix == ".geojson":
            content = json.dumps(export_all.sites_geojson(session)).encode()
        elif file.suffix == ".zip":
            routes = read_plan.week_plan(session, parsed).routes if parsed else ()
            papers = {
                f"day-sheets/{one.technician_id}-{one.day}.pdf": paper_of(
                    session, settings, one.technician_id, str(one.day), gate_codes=False
                )
                for one in routes
                if one.stops
            }
            papers |= week_files(session, settings, parsed) if parsed else {}
            content = export_all.everything_zip(session, settings, parsed, papers)
        else:
            raise typer.BadParameter(_("Name a file that ends in .zip, .xlsx or .geojson."))
    write_file(file, content)
    note(_("Written to {file}.").format(file=file))
