"""What every command needs: settings, the database, and ways to say things."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from dispatch.actions.lists import ListTable, as_csv, as_json
from dispatch.errors import DispatchError, ImportRejected, InvalidValue
from dispatch.settings import Settings, load_settings
from dispatch.words import _

if TYPE_CHECKING:  # the database takes a second to import; --help does without
    from sqlmodel import Session

CsvOption = Annotated[bool, typer.Option("--csv", help="Print the list as CSV.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the list as JSON.")]

SHOWN_PROBLEMS = 200  # more bad rows than anybody reads; the count is told


def say(*lines: str) -> None:
    """Print plain lines of a command's answer."""
    for line in lines:
        Console().print(Text(line), soft_wrap=True)


def note(line: str) -> None:
    """Print a line about the work itself, beside the answer (on the error stream)."""
    notes().print(Text(line), soft_wrap=True)


def notes() -> Console:
    """The console of the error stream, for progress and complaints."""
    return Console(stderr=True)


def write_file(file: Path, content: bytes) -> None:
    """Write a file that somebody named.

    Raises
    ------
    InvalidValue
        When there is no such folder, or nothing can be written there.
    """
    try:
        file.write_bytes(content)
    except OSError as error:
        if not file.parent.is_dir():
            words = _("There is no folder {folder} for {file}: make it, or name another place.")
        else:
            words = _("The file {file} cannot be written: {why}. Name another place.")
        raise InvalidValue(
            words.format(folder=file.parent, file=file, why=error.strerror)
        ) from error


@contextmanager
def open_book(*, read_only: bool) -> Iterator[tuple[Session, Settings]]:
    """One transaction on the database of the settings."""
    from dispatch.store.db import make_engine, transaction

    settings = load_settings()
    engine = make_engine(settings)
    try:
        with transaction(engine, read_only=read_only) as session:
            yield session, settings
    finally:
        engine.dispose()


@contextmanager
def open_people(*, read_only: bool) -> Iterator[tuple[Session, Settings]]:
    """One transaction on the directory of people, seen from the branch of the settings."""
    from dispatch.store.db import make_engine, transaction
    from dispatch.store.directory import open_directory

    settings = load_settings()
    engine = make_engine(settings)
    directory = open_directory(settings, engine)
    try:
        with transaction(directory, read_only=read_only) as session:
            yield session, settings
    finally:
        directory.dispose()
        engine.dispose()


def show_list(table: ListTable, title: str, *, to_csv: bool = False, to_json: bool = False) -> None:
    """Print a list: for people, or as CSV or JSON to be kept."""
    if to_csv:
        sys.stdout.write(as_csv(table))
    elif to_json:
        say(as_json(table))
    else:
        _print_table(table, title)


def explain(error: DispatchError) -> None:
    """Print an error, the command that helps and, for a rejected table, each of its problems."""
    note(f"{error}")
    if error.command:
        note(_("Command: {command}").format(command=error.command))
    if isinstance(error, ImportRejected):
        for problem in error.problems[:SHOWN_PROBLEMS]:
            note(f"  {getattr(problem, 'sentence', problem)}")
        if len(error.problems) > SHOWN_PROBLEMS:
            note("  … " + _("and {left:,} more.").format(left=len(error.problems) - SHOWN_PROBLEMS))


def explain_unexpected(error: BaseException) -> None:
    """Print that something failed which should not have, and keep the details in the log."""
    try:
        file = load_settings().log_file
    except DispatchError:
        file = Path("dispatch.log")
    note(
        _("Something went wrong that should not have: {name}: {error}").format(
            name=type(error).__name__, error=error
        )
    )
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with file.open("a", encoding="utf-8") as log:
            log.write(f"{datetime.now(UTC).isoformat()} dispatch {' '.join(sys.argv[1:])}\n")
            log.write("".join(traceback.format_exception(error)))
    except OSError as unwritable:
        note(
            _("The details could not be written to {file}: {unwritable}.").format(
                file=file, unwritable=unwritable
            )
        )
    else:
        note(
            _("The details are in {file}: please send them with a report of what you did.").format(
                file=file
            )
        )


def _print_table(table: ListTable, title: str) -> None:
    empty = [all(row[n] in (None, "") for row in table.rows) for n in range(len(table.columns))]
    kept = [n for n in range(len(table.columns)) if not (empty[n] and table.rows)]
    shown = Table(title=Text(title), title_justify="left")
    for n in kept:
        numeric = any(type(row[n]) in (int, float) for row in table.rows)
        shown.add_column(Text(table.columns[n]), justify="right" if numeric else "left")
    for row in table.rows:
        shown.add_row(*(Text("" if row[n] is None else str(row[n])) for n in kept))
    width = None if sys.stdout.isatty() else 200  # columns of text where nobody tells the width
    Console(width=width).print(shown)
