"""`dispatch notices`: tell customers of visits, for a timer and by hand."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, show_list
from dispatch.clock import parse_day
from dispatch.settings import Settings, load_settings
from dispatch.words import _

if TYPE_CHECKING:
    from dispatch.actions.lists import ListTable


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
    table, trouble = told_by(load_settings(), parse_day(day) if day else None, dry=dry)
    show_list(table, _("Would be told") if dry else _("Messages"), to_csv=to_csv, to_json=to_json)
    if trouble:
        note(trouble)
        raise typer.Exit(1)


def told_by(settings: Settings, wanted: date | None, *, dry: bool) -> tuple[ListTable, str]:
    """Tell the customers of the branch of the settings, as the command does.

    Returns
    -------
    messages, trouble
        Those of the run, and what is wrong with the mail server, empty where nothing is.
    """
    from dispatch.actions.notices import due_notices, notice_list, shown_notices, tell
    from dispatch.actions.notices_out import mail_post, send_waiting
    from dispatch.store.db import make_engine, transaction

    now = settings.now()
    engine = make_engine(settings)
    try:
        if dry:
            with transaction(engine, read_only=True) as session:
                return notice_list(due_notices(session, settings, wanted, now=now)), ""
        with mail_post(settings) as post:
            with transaction(engine) as session:
                tell(session, settings, wanted, now=now)
            sent = send_waiting(engine, settings, post, now=now)
        with transaction(engine, read_only=True) as session:
            return notice_list(shown_notices(session, sent.notices)), sent.trouble
    finally:
        engine.dispose()
