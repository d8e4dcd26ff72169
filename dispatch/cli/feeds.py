"""`dispatch day-sheet`, `calendar` and `visit-link`: what technicians and customers are given."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import note, open_book, say, write_file
from dispatch.clock import parse_day
from dispatch.words import _

if TYPE_CHECKING:
    from sqlmodel import Session

    from dispatch.settings import Settings

TechnicianArgument = Annotated[str, typer.Argument(metavar="TECHNICIAN", help="Id, as T1.")]


def day_sheet_command(
    technician: TechnicianArgument,
    day: Annotated[str, typer.Argument(metavar="DAY", help="Date, as 2026-11-30.")],
    pdf: Annotated[Path | None, typer.Option(help="File for the printed sheet.")] = None,
    gpx: Annotated[Path | None, typer.Option(help="File for the route, GPX 1.1.")] = None,
    ics: Annotated[Path | None, typer.Option(help="File for the calendar, RFC 5545.")] = None,
    gate_codes: Annotated[
        bool, typer.Option("--gate-codes", help="Print gate codes on the sheet.")
    ] = False,
) -> None:
    """Write a technician's day as PDF, GPX or calendar; as published, or else as planned."""
    if not (pdf or gpx or ics):
        raise typer.BadParameter(_("Say what to write: --pdf FILE, --gpx FILE or --ics FILE."))
    with open_book(read_only=True) as (session, settings):
        if pdf:
            _write(pdf, paper_of(session, settings, technician, day, gate_codes=gate_codes))
        if gpx:
            from dispatch.actions.paper_day import day_track
            from dispatch.feeds.track import gpx_text

            track = day_track(session, settings, technician, parse_day(day))
            _write(gpx, gpx_text(track, settings).encode())
        if ics:
            from dispatch.actions.calendars import technician_calendar
            from dispatch.feeds.calendar import calendar_text

            found = technician_calendar(session, settings, technician)
            _write(ics, calendar_text(found, settings))


def calendar_command(
    technician: TechnicianArgument,
    end: Annotated[bool, typer.Option("--end", help="End the address, make no new one.")] = False,
) -> None:
    """Give a technician's calendar a new address to subscribe to; the former one ends."""
    from dispatch.actions.calendars import end_calendar_address, new_calendar_address

    with open_book(read_only=False) as (session, settings):
        if end:
            end_calendar_address(session, technician)
            note(
                _("The calendar of {technician} has no address any more.").format(
                    technician=technician
                )
            )
            return
        token = new_calendar_address(
            session, settings, technician, who="the shell", at=settings.now()
        )
        say(f"{settings.own_url}/calendar/{token}.ics")


def visit_link_command(
    visit: Annotated[str, typer.Argument(metavar="VISIT", help="A visit, as S017/2026-W49/1.")],
    day: Annotated[str, typer.Option(help="Its day, as 2026-11-30.")],
) -> None:
    """Make a visit's link for its customer: when to expect it, afterwards what was done."""
    from dispatch.actions.visit_link import visit_token

    with open_book(read_only=True) as (session, settings):
        token = visit_token(session, settings, parse_day(day), visit)
        say(f"{settings.own_url}/visit/{token}")


def paper_of(
    session: Session, settings: Settings, technician: str, day: str, *, gate_codes: bool
) -> bytes:
    """The printed day sheet of a technician's day; raises as `paper_day` does."""
    from api.given_out import typeface
    from api.pages.units import Units
    from dispatch.actions.gate_codes import sheet_with_codes
    from dispatch.actions.paper_day import paper_day
    from dispatch.feeds.paper import PaperWish, day_sheet_pdf

    customary = Units.of_country(settings.country).customary
    found = paper_day(session, settings, technician, parse_day(day), customary=customary)
    found = replace(found, sheet=sheet_with_codes(settings, found.sheet, shown=gate_codes))
    return day_sheet_pdf(found, typeface(), PaperWish(settings.paper, customary, gate_codes))


def _write(file: Path, content: bytes) -> None:
    write_file(file, content)
    note(_("Written to {file}.").format(file=file))
