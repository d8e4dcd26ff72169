"""`dispatch import`: somebody's table of sites or technicians, its columns matched."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dispatch.actions.lists import ListTable, as_csv
from dispatch.actions.table_import import Noun
from dispatch.cli.book import TableFile, read_text
from dispatch.cli.console import note, open_book, say, show_list, write_file
from dispatch.errors import InvalidValue
from dispatch.words import _, counted


def import_command(
    noun: Annotated[Noun, typer.Argument(help="What the table is of.")],
    file: TableFile,
    column: Annotated[
        list[str] | None,
        typer.Option(help="Which column a heading is, as 'Client=name'; 'Colour=' leaves it out."),
    ] = None,
    tried: Annotated[bool, typer.Option("--try", help="Only tell what would come of it.")] = False,
    report: Annotated[
        Path | None, typer.Option(help="CSV file for what is wrong with the table.")
    ] = None,
) -> None:
    """Take in a CSV or XLSX table with any headings, all of it or nothing.

    Headings are matched with our columns as well as can be guessed, and shown first.
    """
    from dispatch.actions.table_import import (
        match_columns,
        problem_list,
        take_in_table,
        try_table,
    )

    text = read_text(file)
    guesses = match_columns(noun, text)
    said = _said(column or [], [one.heading for one in guesses])
    chosen = [said.get(one.heading, one.column) for one in guesses]
    rows = tuple(
        (one.heading, name or _("left out"), " · ".join(one.samples))
        for one, name in zip(guesses, chosen, strict=True)
    )
    show_list(ListTable(("heading", "column", "values"), rows), _("Columns"))
    with open_book(read_only=tried) as (session, settings):
        go = try_table if tried else take_in_table
        found = go(session, settings, noun, text, chosen)
    if found.problems:
        table = problem_list(found.problems)
        if report:
            write_file(report, as_csv(table).encode())
            note(_("The report is in {report}.").format(report=report))
        problems = len(found.problems)
        title = counted(
            "{n} problem; nothing was taken in", "{n} problems; nothing was taken in", problems
        )
        show_list(table, title)
        raise typer.Exit(1)
    words = (
        _("Would be: {new} new, {changed} changed, {same} as they were.")
        if tried
        else _("Taken in: {new} new, {changed} changed, {same} as they were.")
    )
    if tried and found.cells:
        cells = tuple((one.id, one.column, one.before, one.after) for one in found.cells)
        show_list(ListTable(("id", "column", "now", "then"), cells), _("What would change"))
    say(words.format(new=len(found.new), changed=len(found.changed), same=found.same))


def _said(columns: list[str], headings: list[str]) -> dict[str, str]:
    """Columns by heading, as the person says; raises InvalidValue for an unknown heading."""
    said = dict(one.rpartition("=")[::2] for one in columns)
    unknown = [heading for heading in said if heading not in headings]
    if unknown:
        raise InvalidValue(
            _("The table has no heading '{heading}': its headings are {headings}.").format(
                heading=unknown[0], headings=", ".join(headings)
            )
        )
    return said
