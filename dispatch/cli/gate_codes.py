"""`dispatch gate-codes`: the keys that gate codes are sealed with."""

from __future__ import annotations

import typer

from dispatch.cli.console import say
from dispatch.settings import load_settings
from dispatch.words import counted

app = typer.Typer(help="The keys that gate codes are sealed with.", no_args_is_help=True)


@app.callback()
def gate_codes() -> None:
    """Keys of the gate codes."""


@app.command("rotate")
def rotate_command() -> None:
    """Seal every gate code with a new key and forget the old ones."""
    from dispatch.actions.gate_codes import rotate_keys
    from dispatch.store.db import make_engine

    settings = load_settings()
    engine = make_engine(settings)
    try:
        number = rotate_keys(engine, settings)
    finally:
        engine.dispose()
    say(
        counted(
            "{n} gate code is sealed with a new key in {file}: back it up.",
            "{n} gate codes are sealed with a new key in {file}: back it up.",
            number,
            file=settings.gate_keys,
        )
    )
