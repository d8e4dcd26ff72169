"""`dispatch backup` and `dispatch restore`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dispatch.cli.console import note, say
from dispatch.settings import load_settings
from dispatch.words import _


def backup_command(
    file: Annotated[Path, typer.Argument(help="File to write, as pools.tar.")],
    with_map: Annotated[
        bool, typer.Option("--map/--no-map", help="Whether the street map is kept as well.")
    ] = True,
    keys: Annotated[
        Path | None,
        typer.Option(help="File to write the keys of gate codes and links to, apart."),
    ] = None,
) -> None:
    """Keep the database, photos and the map in one file, while the service goes on."""
    from dispatch.actions.backup import back_up

    settings = load_settings()
    about = back_up(settings, file, with_map=with_map, keys=keys, at=settings.now())
    say(
        _("{file}: {files} files, {size_mb:.1f} MB.").format(
            file=file, files=len(about.digests), size_mb=file.stat().st_size / 1e6
        )
    )
    if keys is not None:
        note(
            _(
                "{keys} holds the keys of gate codes and links. Keep it in another place than "
                "the backup, as in a safe or a password store: whoever has both can read every "
                "gate code."
            ).format(keys=keys)
        )
    elif about.keys:
        note(
            _(
                "The keys of gate codes and links are not in it. Keep them once, apart from the "
                "backups, with --keys FILE, and again after 'dispatch gate-codes rotate': "
                "without them a restored company has no gate codes."
            )
        )


def restore_command(
    file: Annotated[Path, typer.Argument(help="File that was kept.")],
    keys: Annotated[Path | None, typer.Option(help="File of the keys that was kept apart.")] = None,
    without_keys: Annotated[
        bool, typer.Option("--without-keys", help="Go on without keys: gate codes are lost.")
    ] = False,
) -> None:
    """Put a backup into the empty data folder (and PostgreSQL database) of the settings."""
    from dispatch.actions.backup import restore

    settings = load_settings()
    about = restore(settings, file, keys=keys, without_keys=without_keys)
    say(
        _("Restored into {data_dir}: the state of {made_at}.").format(
            data_dir=settings.data_dir, made_at=about.made_at
        )
    )
