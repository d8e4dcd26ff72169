"""`dispatch records` and `dispatch follow-ups`: what was done, and what follows from it."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from dispatch.actions.lists import ListTable, column_list
from dispatch.cli.book import read_text
from dispatch.cli.console import CsvOption, JsonOption, note, open_book, say, show_list
from dispatch.clock import parse_day
from dispatch.errors import InvalidValue
from dispatch.measures import measured
from dispatch.words import _, counted

records_app = typer.Typer(help="Records of visits: import, list, correct.", no_args_is_help=True)
follow_ups_app = typer.Typer(help="What records ask for: list, settle.", no_args_is_help=True)

SiteOption = Annotated[str | None, typer.Option("--site", help="Only those of this site.")]
TechnicianOption = Annotated[
    str | None, typer.Option("--technician", help="Only those of this technician.")
]
FirstOption = Annotated[str | None, typer.Option("--from", help="First day, as 2026-11-01.")]
LastOption = Annotated[str | None, typer.Option("--to", help="Last day, as 2026-11-30.")]
ByOption = Annotated[str, typer.Option("--by", help="Who does it; kept in the history.")]
FieldsOption = Annotated[
    str, typer.Option("--fields", help='Fields that change, as JSON: {"note": "..."}.')
]


@records_app.command("import")
def import_command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="CSV, or JSON lines (.jsonl).")],
) -> None:
    """Take in records; a record that is known already counts once.

    A CSV table is taken in whole or not at all. Of JSON lines, what cannot be kept is set aside.
    """
    from dispatch.actions.record_files import import_record_lines, import_record_table

    text = read_text(file)
    take_in = import_record_lines if file.suffix.lower() == ".jsonl" else import_record_table
    with open_book(read_only=False) as (session, settings):
        found = take_in(session, settings, text)
    say(
        _("Taken in from {file}: {kept:,} records; {known:,} were known already.").format(
            file=file, kept=found.kept, known=found.known
        )
    )
    for one in found.aside:
        note(
            _("Set aside, {record_id}: {error}").format(
                record_id=one.record_id or _("without id"), error=one.error
            )
        )
    if found.aside:
        note(
            _("'dispatch records aside' lists what is set aside; 'accept' takes it in once mended.")
        )


@records_app.command("list")
def list_command(
    site: SiteOption = None,
    technician: TechnicianOption = None,
    first: FirstOption = None,
    last: LastOption = None,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """List records in the columns of their table."""
    from dispatch.actions.record_files import record_list

    with open_book(read_only=True) as (session, settings):
        kept = _between(session, settings, site, technician, first, last)
        table = record_list(kept, settings.zone)
    show_list(
        table, counted("{n} record", "{n} records", len(kept)), to_csv=to_csv, to_json=to_json
    )


@records_app.command("export")
def export_command(
    site: SiteOption = None,
    technician: TechnicianOption = None,
    first: FirstOption = None,
    last: LastOption = None,
) -> None:
    """Write records as JSON lines, which can be imported again."""
    from dispatch.actions.record_files import record_lines

    with open_book(read_only=True) as (session, settings):
        kept = _between(session, settings, site, technician, first, last)
    sys.stdout.write(record_lines(kept))


@records_app.command("columns")
def columns_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """Show the columns that a table of records may have."""
    from dispatch.records.rows import RECORD_COLUMNS

    table = column_list(RECORD_COLUMNS)
    show_list(table, _("Columns of a table of records"), to_csv=to_csv, to_json=to_json)


@records_app.command("history")
def history_command(
    record_id: Annotated[str, typer.Argument(metavar="RECORD")],
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show every version of a record: who changed it, when and why."""
    from dispatch.actions.records import record_versions
    from dispatch.records.content import content_of

    with open_book(read_only=True) as (session, settings):
        versions = record_versions(session, settings, record_id)
        zone = settings.zone
    rows = tuple(
        (
            one.version,
            one.changed_at.astimezone(zone).isoformat(timespec="minutes"),
            one.changed_by,
            one.reason,
            json.dumps(content_of(one.record), ensure_ascii=False),
        )
        for one in versions
    )
    table = ListTable(("version", "changed_at", "changed_by", "reason", "content"), rows)
    show_list(
        table, _("Record {record_id}").format(record_id=record_id), to_csv=to_csv, to_json=to_json
    )


@records_app.command("correct")
def correct_command(
    record_id: Annotated[str, typer.Argument(metavar="RECORD")],
    fields: FieldsOption,
    by: ByOption,
    reason: Annotated[str, typer.Option("--reason", help="Why; kept in the history.")],
) -> None:
    """Correct a record; what it said before stays readable."""
    from dispatch.actions.records import correct_record

    with open_book(read_only=False) as (session, settings):
        after = correct_record(session, settings, record_id, _fields(fields), by=by, reason=reason)
    say(
        _("Record {record_id} stands at version {version}.").format(
            record_id=record_id, version=after.version
        )
    )
    for flag in map(measured, after.flags):
        note(flag)


@records_app.command("aside")
def aside_command(to_csv: CsvOption = False, to_json: JsonOption = False) -> None:
    """List what could not be kept and waits for somebody."""
    from dispatch.actions.record_files import aside_list
    from dispatch.actions.records import open_asides

    with open_book(read_only=True) as (session, settings):
        table = aside_list(open_asides(session), settings.zone)
    show_list(
        table,
        counted("{n} set aside", "{n} set aside", len(table.rows)),
        to_csv=to_csv,
        to_json=to_json,
    )


@records_app.command("accept")
def accept_command(
    aside: Annotated[str, typer.Argument(metavar="ASIDE", help="Its id in the list.")],
    by: ByOption,
    fields: FieldsOption = "{}",
) -> None:
    """Take in what was set aside, with some fields changed."""
    from dispatch.actions.records import accept_aside

    with open_book(read_only=False) as (session, settings):
        taken = accept_aside(session, settings, aside, _fields(fields), by=by)
    say(_("Taken in as record {record_id}.").format(record_id=taken.record_id))


@records_app.command("dismiss")
def dismiss_command(
    aside: Annotated[str, typer.Argument(metavar="ASIDE", help="Its id in the list.")],
    by: ByOption,
    why: Annotated[str, typer.Option("--why", help="Why it is not wanted.")],
) -> None:
    """Say that what was set aside is not wanted; it stays readable."""
    from dispatch.actions.records import dismiss_aside

    with open_book(read_only=False) as (session, settings):
        dismiss_aside(session, settings, aside, by=by, why=why)
    say(_("Dismissed."))


@follow_ups_app.command("list")
def follow_ups_command(
    site: SiteOption = None, to_csv: CsvOption = False, to_json: JsonOption = False
) -> None:
    """List open follow-ups, urgent ones first."""
    from dispatch.actions.record_files import follow_up_list
    from dispatch.actions.records import open_follow_ups

    with open_book(read_only=True) as (session, settings):
        table = follow_up_list(open_follow_ups(session, site), settings.today())
    show_list(
        table,
        counted("{n} follow-up", "{n} follow-ups", len(table.rows)),
        to_csv=to_csv,
        to_json=to_json,
    )


@follow_ups_app.command("settle")
def settle_command(
    follow_up: Annotated[str, typer.Argument(metavar="FOLLOW-UP", help="Its id in the list.")],
    by: ByOption,
    outcome: Annotated[str, typer.Option("--outcome", help="What became of it.")],
) -> None:
    """Close a follow-up with what became of it."""
    from dispatch.actions.records import settle

    with open_book(read_only=False) as (session, settings):
        settle(session, settings, follow_up, by=by, outcome=outcome)
    say(_("Settled."))


def _between(
    session: Any,
    settings: Any,
    site: str | None,
    technician: str | None,
    first: str | None,
    last: str | None,
) -> list[Any]:
    from dispatch.actions.records import records_between

    return list(
        records_between(
            session,
            settings,
            site_id=site,
            technician_id=technician,
            first_day=None if first is None else parse_day(first),
            last_day=None if last is None else parse_day(last),
        )
    )


def _fields(text: str) -> dict[str, Any]:
    try:
        found = json.loads(text)
    except ValueError as error:
        raise InvalidValue(
            _("'{text}' is no JSON: {error}.").format(text=text[:60], error=error)
        ) from error
    if not isinstance(found, dict):
        raise InvalidValue(_('The fields that change are an object, as {"note": "..."}.'))
    return found
