"""`dispatch sites`, `technicians`, `holds` and `one-offs`: import, list, columns."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.actions.lists import (
    ListTable,
    column_list,
    hold_list,
    one_off_list,
    site_list,
    technician_list,
)
from dispatch.cli.console import CsvOption, JsonOption, note, open_book, say, show_list
from dispatch.errors import ImportRejected
from dispatch.intake.hold_rows import HOLD_COLUMNS
from dispatch.intake.one_off_rows import ONE_OFF_COLUMNS
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.intake.table import Column
from dispatch.intake.technician_rows import TECHNICIAN_COLUMNS
from dispatch.intake.workbook import read_any
from dispatch.settings import Settings
from dispatch.words import _, counted

if TYPE_CHECKING:
    from sqlmodel import Session

TableFile = Annotated[
    Path, typer.Argument(metavar="FILE", help="Table as CSV in UTF-8, or an XLSX workbook.")
]


def _commands(noun: str, columns: Sequence[Column]) -> typer.Typer:
    """The three commands of one kind of table; `noun` is its plural."""
    app = typer.Typer(help=f"The {noun}: import, list, columns.", no_args_is_help=True)

    @app.command("import", help=f"Take in a table of {noun}, all of it or nothing.")
    def import_command(file: TableFile) -> None:
        text = read_text(file)
        with open_book(read_only=False) as (session, settings):
            count = _take_in(noun, session, settings, text)
        say(_taken_in(noun, count, file))
        _warn_off_street(noun)
        if noun == "sites":
            _warn_twins()

    @app.command("list", help=f"List the {noun} in the columns of their table.")
    def list_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
        with open_book(read_only=True) as (session, _settings):
            table = _listed(noun, session)
        title = _number_of(noun, len(table.rows))
        show_list(table, title, to_csv=to_csv, to_json=to_json)

    @app.command("columns", help=f"Show the columns that a table of {noun} may have.")
    def columns_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
        title = _("Columns of the table '{noun}'").format(noun=noun)
        show_list(column_list(columns), title, to_csv=to_csv, to_json=to_json)

    return app


def read_text(file: Path) -> str:
    """The text of a table.

    Raises
    ------
    ImportRejected
        When the file cannot be read, or is neither UTF-8 text nor a workbook.
    """
    try:
        return read_any(file.read_bytes())
    except OSError as error:
        raise ImportRejected(
            _("The file {file} cannot be read: {why}. Check its name and where it lies.").format(
                file=file, why=error.strerror
            )
        ) from error


def _taken_in(noun: str, count: int, file: Path) -> str:
    return {
        "sites": counted(
            "Taken in from {file}: {n} site.",
            "Taken in from {file}: {n} sites.",
            count,
            file=file,
        ),
        "technicians": counted(
            "Taken in from {file}: {n} technician.",
            "Taken in from {file}: {n} technicians.",
            count,
            file=file,
        ),
        "holds": counted(
            "Taken in from {file}: {n} hold.",
            "Taken in from {file}: {n} holds.",
            count,
            file=file,
        ),
        "one-offs": counted(
            "Taken in from {file}: {n} one-off.",
            "Taken in from {file}: {n} one-offs.",
            count,
            file=file,
        ),
    }[noun]


def _number_of(noun: str, count: int) -> str:
    return {
        "sites": counted("{n} site", "{n} sites", count),
        "technicians": counted("{n} technician", "{n} technicians", count),
        "holds": counted("{n} hold", "{n} holds", count),
        "one-offs": counted("{n} one-off", "{n} one-offs", count),
    }[noun]


def _take_in(noun: str, session: Session, settings: Settings, text: str) -> int:
    from dispatch.actions import book, one_off_work

    imports = {
        "sites": book.import_sites,
        "technicians": book.import_technicians,
        "holds": book.import_holds,
        "one-offs": one_off_work.import_one_offs,
    }
    return imports[noun](session, settings, text)


def _warn_off_street(noun: str) -> None:
    """Name the places of such a table where no truck can drive."""
    from dispatch.actions.off_street import DEPOTS, SITES, off_street

    kinds = {"sites": SITES, "technicians": DEPOTS}.get(noun)
    if kinds is None:
        return
    with open_book(read_only=True) as (session, settings):
        told = off_street(session, settings, kinds)
    for sentence in told.values():
        note(sentence)


def _warn_twins() -> None:
    """Name the sites that stand in the book twice."""
    from dispatch.actions import book
    from dispatch.actions.twins import twins_told

    with open_book(read_only=True) as (session, _settings):
        told = twins_told(book.sites(session))
    for sentence in told:
        note(sentence)


def _listed(noun: str, session: Session) -> ListTable:
    from dispatch.actions import book, one_off_work

    lists: dict[str, Callable[[], ListTable]] = {
        "sites": lambda: site_list(book.sites(session)),
        "technicians": lambda: technician_list(book.technicians(session)),
        "holds": lambda: hold_list(book.holds(session)),
        "one-offs": lambda: one_off_list(one_off_work.one_offs(session)),
    }
    return lists[noun]()


sites_app = _commands("sites", SITE_COLUMNS)
technicians_app = _commands("technicians", TECHNICIAN_COLUMNS)
holds_app = _commands("holds", HOLD_COLUMNS)
one_offs_app = _commands("one-offs", ONE_OFF_COLUMNS)
