"""`dispatch map`: build the street map and show what it holds."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import note, say
from dispatch.settings import load_settings

if TYPE_CHECKING:
    from dispatch.drive.graph import MapSummary

app = typer.Typer(help="The street map that drive times are computed on.", no_args_is_help=True)

ExtractFile = Annotated[
    Path,
    typer.Argument(
        metavar="FILE", help="OpenStreetMap extract: .osm, .osm.gz, .osm.bz2 or .osm.pbf."
    ),
]


@app.command("build")
def build_command(file: ExtractFile) -> None:
    """Build the street map from an OpenStreetMap extract; a failed build leaves the old map."""
    from dispatch.actions.maps import build_map

    began = time.monotonic()

    def progress(stage: str) -> None:
        note(f"{time.monotonic() - began:6.1f} s  {stage}")

    show_summary(build_map(load_settings(), file, progress))


@app.command("show")
def show_command() -> None:
    """Show what the street map holds."""
    from dispatch.actions.maps import road_map

    show_summary(road_map(load_settings()).summary)


def show_summary(summary: MapSummary) -> None:
    """Print a street map in numbers."""
    south, west, north, east = summary.bounds
    say(
        f"Street map of {summary.source}: {summary.street_km:,.0f} km of streets, "
        f"{summary.edges:,} directed edges between {summary.nodes:,} nodes, "
        f"{summary.turns:,} turns, {summary.addresses:,} addresses.",
        f"It covers latitude {south:.4f} to {north:.4f} and longitude {west:.4f} to {east:.4f}.",
    )
    if summary.cut_off:
        say(
            f"{summary.cut_off:,} directed edges were left out, because no drive can both reach "
            "and leave them."
        )
