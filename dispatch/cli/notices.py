"""`dispatch notices`: tell customers of visits, for a timer and by hand."""

from __future__ import annotations

from typing import Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, show_list
from dispatch.clock import parse_day
from dispatch.settings import load_settings
from dispatch.words import _


def notices_command(
    day: Annotated[
        str | None,
        typer.Option(help="Tell of this day's visits, as 2026-11-30, whatever the hour."),
    ] = None,
    dry: Annotated[
        bool, typer.Option("--try", help="List who would be told; send nothing.")
    ] = False,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Tell customers what they wish to be told: of tomorrow's visits, of moves, of visits done.

    Made for a timer: each message goes out once, however often this runs. Exits with 1 when the
    mail server is in trouble.
    """
    from dispatch.actions.notices import due_notices, notice_list, shown_notices, tell
    from dispatch.actions.notices_out import mail_post, send_waiting
    from dispatch.store.db import make_engine, transaction

    settings = load_settings()
    wanted, now = parse_day(day) if day else None, settings.now()
    engine = make_engine(settings)
    try:
        if dry:
            with transaction(engine, read_only=True) as session:
                table = notice_list(due_notices(session, settings, wanted, now=now))
            show_list(table, _("Would be told"), to_csv=to_csv, to_json=to_json)
            return
        with mail_post(settings) as post:
            with transaction(engine) as session:
                tell(session, settings, wanted, now=now)
            sent = send_waiting(engine, settings, post, now=now)
        with transaction(engine, read_only=True) as session:
            table = notice_list(shown_notices(session, sent.notices))
    finally:
        engine.dispose()
    show_list(table, _("Messages"), to_csv=to_csv, to_json=to_json)
    if sent.trouble:
        note(sent.trouble)
        raise typer.Exit(1)
