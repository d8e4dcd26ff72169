"""`dispatch backup` and `dispatch restore`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dispatch.cli.console import note, say
from dispatch.settings import load_settings


def backup_command(
    file: Annotated[Path, typer.Argument(help="File to write, as pools.tar.")],
    with_map: Annotated[
        bool, typer.Option("--map/--no-map", help="Whether the street map is kept as well.")
    ] = True,
) -> None:
    """Keep the database, photos, keys and the map in one file, while the service goes on."""
    from dispatch.actions.backup import back_up

    settings = load_settings()
    about = back_up(settings, file, with_map=with_map, at=settings.now())
    say(f"{file}: {len(about.digests)} files, {file.stat().st_size / 1e6:.1f} MB.")
    note("The file holds the keys of gate codes and links: keep it where nobody else can read it.")


def restore_command(file: Annotated[Path, typer.Argument(help="File that was kept.")]) -> None:
    """Put a backup into the empty data folder (and PostgreSQL database) of the settings."""
    from dispatch.actions.backup import restore

    settings = load_settings()
    about = restore(settings, file)
    say(f"Restored into {settings.data_dir}: the state of {about.made_at}.")
