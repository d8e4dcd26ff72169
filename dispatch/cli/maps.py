"""`dispatch map`: build the street map, show what it holds, ask it, and export it."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, open_book, say, show_list
from dispatch.cli.weeks import stopped_by_ctrl_c
from dispatch.errors import InvalidValue
from dispatch.settings import load_settings
from dispatch.words import N_, _, counted

if TYPE_CHECKING:
    from dispatch.drive.graph import MapSummary

app = typer.Typer(help="The street map that drive times are computed on.", no_args_is_help=True)

STOPPING = N_("Stopping; the map that was there stays. Ctrl-C once more gives up at once.")

MapFile = Annotated[
    Path | None,
    typer.Argument(
        metavar="FILE",
        help="OpenStreetMap extract: .osm, .osm.gz, .osm.bz2 or .osm.pbf; or a .graphml file.",
        show_default=False,
    ),
]
PlaceOption = Annotated[
    str | None,
    typer.Option("--place", metavar="NAME", help="Download the map of a place, as 'Town, State'."),
]
BoxOption = Annotated[
    str | None,
    typer.Option("--bbox", metavar="S,W,N,E", help="Download the map of a box, in degrees."),
]


@app.command("build")
def build_command(file: MapFile = None, place: PlaceOption = None, bbox: BoxOption = None) -> None:
    """Build the street map from a file, or from the internet with --place or --bbox.

    A failed or stopped build leaves the old map.
    """
    from dispatch.actions.maps import build_map, download_map

    if sum(given is not None for given in (file, place, bbox)) != 1:
        raise InvalidValue(_("Give either the FILE of a map, or --place NAME, or --bbox S,W,N,E."))
    settings, progress = load_settings(), _stopwatch()
    with stopped_by_ctrl_c(STOPPING) as stop:
        if file is not None:
            summary = build_map(settings, file, progress, stop.is_set)
        else:
            summary = download_map(settings, _area(place, bbox), progress, stop.is_set)
    show_summary(summary)


@app.command("show")
def show_command() -> None:
    """Show what the street map holds."""
    from dispatch.actions.maps import road_map

    show_summary(road_map(load_settings()).summary)


@app.command("within")
def within_command(
    address: Annotated[
        str, typer.Argument(metavar="ADDRESS", help="Such as '12 Oak Street, Millbrook'.")
    ],
    minutes: Annotated[float, typer.Option("--minutes", min=0, help="Minutes of driving.")] = 10.0,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """List the sites that are within some minutes of an address, the nearest first."""
    from dispatch.actions.reach import sites_within, within_list

    with open_book(read_only=True) as (session, settings):
        found = sites_within(session, settings, address, round(minutes * 60))
    title = counted(
        "{n} site within {minutes:g} minutes of {address} ({street}, {detour_m:.0f} m off)",
        "{n} sites within {minutes:g} minutes of {address} ({street}, {detour_m:.0f} m off)",
        len(found.sites),
        minutes=minutes,
        address=address,
        street=found.street,
        detour_m=found.detour_m,
    )
    show_list(within_list(found), title, to_csv=to_csv, to_json=to_json)
    for problem in found.no_drive.values():
        note(problem)


@app.command("streets")
def streets_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List the street that each site is served from, and how far it lies from it."""
    from dispatch.actions.reach import site_streets, street_list

    with open_book(read_only=True) as (session, settings):
        rows = site_streets(session, settings)
    title = counted("Streets of {n} site", "Streets of {n} sites", len(rows))
    show_list(street_list(rows), title, to_csv=to_csv, to_json=to_json)


@app.command("export")
def export_command(
    file: Annotated[Path, typer.Argument(metavar="FILE.graphml", help="File to write.")],
) -> None:
    """Write the streets of the map as GraphML, for OSMnx and for building again elsewhere."""
    from dispatch.actions.maps import export_map

    edges = export_map(load_settings(), file)
    say(
        _(
            "{file} holds {edges:,} directed edges. (Data of OpenStreetMap keep its licence.)"
        ).format(file=file, edges=edges)
    )


def show_summary(summary: MapSummary) -> None:
    """Print a street map in numbers."""
    south, west, north, east = summary.bounds
    say(
        _(
            "Street map of {source}: {street_km:,.0f} km of streets, {edges:,} directed "
            "edges between {nodes:,} nodes, {turns:,} turns, {addresses:,} addresses."
        ).format(
            source=summary.source,
            street_km=summary.street_km,
            edges=summary.edges,
            nodes=summary.nodes,
            turns=summary.turns,
            addresses=summary.addresses,
        ),
        _(
            "It covers latitude {south:.4f} to {north:.4f} and longitude {west:.4f} to {east:.4f}."
        ).format(south=south, north=north, west=west, east=east),
    )
    if summary.cut_off:
        say(
            _(
                "{cut_off:,} directed edges were left out, because no drive can both reach and "
                "leave them."
            ).format(cut_off=summary.cut_off)
        )
    for reason, count in summary.left_out:
        say(_("Not taken: {count:,} {reason}.").format(count=count, reason=_(reason)))


def _area(place: str | None, bbox: str | None) -> str | tuple[float, float, float, float]:
    from dispatch.drive.download import parse_box

    return parse_box(bbox) if bbox is not None else str(place)


def _stopwatch() -> Callable[[str], None]:
    """Tell each stage with the seconds and the peak memory so far."""
    from dispatch.cli.demo import peak_memory_mb

    began = time.monotonic()

    def progress(stage: str) -> None:
        seconds, mb = time.monotonic() - began, peak_memory_mb()
        note(f"{_('{seconds:6.1f} s {mb:6,.0f} MB').format(seconds=seconds, mb=mb)}  {stage}")

    return progress
