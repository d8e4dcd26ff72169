"""`dispatch balance`: what it costs to even the technicians' hours of a week."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, open_book, say, show_list
from dispatch.cli.weeks import WeekArgument, long_run
from dispatch.clock import IsoWeek
from dispatch.words import N_, _

if TYPE_CHECKING:  # the database takes a second to import; --help does without
    from dispatch.actions.balance import CurveFigures


def balance_command(
    week: WeekArgument,
    hours: Annotated[bool, typer.Option("--hours", help="List each technician's hours.")] = False,
    again: Annotated[
        bool, typer.Option("--again", help="Reckon anew what was reckoned before.")
    ] = False,
    iterations: Annotated[
        int | None, typer.Option(min=1, help="Iterations of each search; by default by size.")
    ] = None,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Reckon the curve between even hours and driving; Ctrl-C keeps the points it has."""
    from dispatch.actions import balance

    parsed = IsoWeek.parse(week)
    curve = None if again else _kept(parsed)
    if curve is None:
        curve = _reckon(parsed, iterations)
    table = balance.share_list(curve) if hours else balance.curve_list(curve)
    show_list(table, _("Balance of {week}").format(week=week), to_csv=to_csv, to_json=to_json)
    if not (to_csv or to_json):
        if curve.kept_words:
            say(curve.kept_words)
        say(
            _("'dispatch plan {week} --even MINUTES' plans the week with a band.").format(week=week)
        )


def _kept(week: IsoWeek) -> CurveFigures | None:
    from dispatch.actions import balance
    from dispatch.errors import NotFound

    with open_book(read_only=True) as (session, _settings):
        try:
            curve = balance.balance(session, week)
        except NotFound:
            return None
    note(
        _("As reckoned on {made_at:%Y-%m-%d}; --again reckons anew.").format(made_at=curve.made_at)
    )
    return curve


def _reckon(week: IsoWeek, iterations: int | None) -> CurveFigures:
    from dispatch.actions import balance

    words = N_("Stopping; the points found so far are kept. Ctrl-C once more gives up.")
    with long_run(words) as run:
        return balance.reckon_balance(
            run.engine,
            run.settings,
            week,
            today=run.settings.today(),
            iterations=iterations,
            progress=run.report,
            should_stop=run.should_stop,
        )
