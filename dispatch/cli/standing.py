"""`dispatch standing`: standing routes, better ones, and dated changes of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, open_book, say, show_list
from dispatch.cli.weeks import long_run
from dispatch.clock import IsoWeek, parse_day
from dispatch.errors import InvalidValue
from dispatch.words import N_, _, counted

if TYPE_CHECKING:  # the database takes a second to import; --help does without
    from dispatch.actions.standing import MovesFigures

app = typer.Typer(help="Standing routes and their dated changes.", no_args_is_help=True)
MOST = typer.Option("--most", min=1, max=200, help="Customers that may move, at most.")
ALL = "all"  # moves of a study
SHELL = "the shell"  # who decides, where nobody is signed in


@app.command("list")
def list_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List who usually comes to whom on which weekday."""
    from dispatch.actions import standing_days

    with open_book(read_only=True) as (session, settings):
        days = standing_days.standing_days(session, IsoWeek.of(settings.today()))
    table = standing_days.standing_list(days)
    show_list(table, _("Standing routes"), to_csv=to_csv, to_json=to_json)


@app.command("improve")
def improve_command(
    most: Annotated[int, MOST] = 20, to_csv: CsvOption = False, to_json: JsonOption = False
) -> None:
    """Rank the moves of customers that save most driving; nothing is changed."""
    _show("improve", most, to_csv, to_json)


@app.command("even-out")
def even_out_command(
    most: Annotated[int, MOST] = 20, to_csv: CsvOption = False, to_json: JsonOption = False
) -> None:
    """Rank the moves of customers that even the technicians' hours most; nothing is changed."""
    _show("even-out", most, to_csv, to_json)


@app.command("design")
def design_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Design standing routes from nothing; nothing is changed."""
    _show("design", 1, to_csv, to_json)


@app.command("decide")
def decide_command(
    study: Annotated[str, typer.Argument(metavar="STUDY", help="improve, even-out or design.")],
    count: Annotated[
        str,
        typer.Argument(
            help="How many of its moves, from the first on, or 'all'; a design only as a whole."
        ),
    ],
    from_on: Annotated[str, typer.Argument(metavar="MONDAY", help="From when, as 2027-01-11.")],
) -> None:
    """Make the first moves of the latest study a dated change of the standing routes."""
    from dispatch.actions import standing

    with open_book(read_only=False) as (session, settings):
        made = standing.decide_on(
            session,
            study,
            _count(count),
            from_on=parse_day(from_on),
            who=SHELL,
            today=settings.today(),
        )
    say(
        _(
            "{made} customers change from {from_on} on. 'dispatch standing withdraw "
            "{batch}' takes it back before that day."
        ).format(made=len(made), from_on=from_on, batch=made[0].batch)
    )


@app.command("changes")
def changes_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List the dated changes, whatever has become of them."""
    from dispatch.actions import standing_changes

    with open_book(read_only=True) as (session, _settings):
        names = standing_changes.site_names(session)
        table = standing_changes.change_list(standing_changes.all_changes(session), names)
    show_list(table, _("Changes of standing routes"), to_csv=to_csv, to_json=to_json)


@app.command("withdraw")
def withdraw_command(
    change: Annotated[str, typer.Argument(help="Id of a change, or of all decided together.")],
) -> None:
    """Take back a change before its date."""
    from dispatch.actions import standing_changes

    with open_book(read_only=False) as (session, settings):
        count = standing_changes.withdraw(session, change, who=SHELL, today=settings.today())
    say(counted("{n} change is taken back.", "{n} changes are taken back.", count))


def _show(name: str, most: int, to_csv: bool, to_json: bool) -> None:
    from dispatch.actions import standing
    from dispatch.actions.standing_lists import move_list

    found = _reckon(name, most)
    show_list(
        move_list(found),
        _("Moves: {name}").format(name=name),
        to_csv=to_csv,
        to_json=to_json,
    )
    if not (to_csv or to_json):
        before, after = found.before, found.after
        say(
            _(
                "{moves} customers move: driving {before_h:.1f} to {after_h:.1f} h a week, spread "
                "{before_min:.0f} to {after_min:.0f} min."
            ).format(
                moves=len(found.moves),
                before_h=before.drive_s / 3600,
                after_h=after.drive_s / 3600,
                before_min=before.spread_s / 60,
                after_min=after.spread_s / 60,
            )
        )
        if found.homeless:
            note(f"{found.left_out} {', '.join(found.homeless)}")
        note(
            _("'dispatch standing decide {name} {count} MONDAY' makes it a dated change.").format(
                name=name, count=ALL if name == standing.DESIGN else "COUNT"
            )
        )
        if name == standing.DESIGN:
            note(
                _(
                    "A design only makes sense as a whole; 'dispatch standing improve' ranks the "
                    "few moves that gain most."
                )
            )


def _count(text: str) -> int | None:
    """A number of moves; None for all of them."""
    if text != ALL and not text.isdecimal():
        raise InvalidValue(
            _("'{text}' is no number of moves: write a whole number, as 5, or '{all}'.").format(
                text=text, all=ALL
            )
        )
    return None if text == ALL else int(text)


def _reckon(name: str, most: int) -> MovesFigures:
    from dispatch.actions import standing

    words = N_("Stopping; the moves found so far are kept. Ctrl-C once more gives up.")
    with long_run(words) as run:
        return standing.reckon_standing(
            run.engine,
            run.settings,
            name,
            today=run.settings.today(),
            most=most,
            progress=run.report,
            should_stop=run.should_stop,
        )
