"""One thing at a time: add or end a hold, add or finish one-off work, delete what has gone."""

from __future__ import annotations

from typing import Annotated

import typer

from dispatch.cli.book import holds_app, one_offs_app, sites_app, technicians_app
from dispatch.cli.console import open_book, open_people, say
from dispatch.clock import parse_day
from dispatch.intake.parse import parse_choice, parse_id, parse_list
from dispatch.intake.parse_agreed import parse_several_minutes, parse_windows
from dispatch.one_offs import OneOff, usual_span
from dispatch.service_plan import Priority, VisitKind
from dispatch.sites import Hold
from dispatch.windows import ALL_DAY
from dispatch.words import _

__all__ = ["holds_app", "one_offs_app", "sites_app", "technicians_app"]

SiteArgument = Annotated[str, typer.Argument(metavar="SITE", help="Id of the site, as S017.")]
IdArgument = Annotated[str, typer.Argument(metavar="ID", help="Its id, as the list shows it.")]
DayArgument = Annotated[str, typer.Argument(metavar="DAY", help="A day, as 2026-12-21.")]
OnOption = Annotated[str, typer.Option("--on", help="The day; today when not given.")]


@holds_app.command("add")
def add_hold_command(
    site: SiteArgument,
    first_day: DayArgument,
    last_day: DayArgument,
    reason: Annotated[str, typer.Option(help="Why, in words.")] = "",
) -> None:
    """Give a site a hold: no visits from the first day to the last, both included."""
    from dispatch.actions.holds import add_hold

    hold = Hold(site, parse_day(first_day), parse_day(last_day), reason)
    with open_book(read_only=False) as (session, _settings):
        add_hold(session, hold)
    say(
        _("Site {site} gets no visits from {first_day} to {last_day}.").format(
            site=site, first_day=hold.first_day, last_day=hold.last_day
        )
    )


@holds_app.command("end")
def end_hold_command(site: SiteArgument, first_day: DayArgument, last_day: DayArgument) -> None:
    """End the hold that begins on the first day on another last day, earlier or later."""
    from dispatch.actions.holds import end_hold

    with open_book(read_only=False) as (session, _settings):
        hold = end_hold(session, site, parse_day(first_day), parse_day(last_day))
    say(
        _("The hold of site {site} from {first_day} ends on {last_day}.").format(
            site=site, first_day=hold.first_day, last_day=hold.last_day
        )
    )


@holds_app.command("delete")
def delete_hold_command(site: SiteArgument, first_day: DayArgument) -> None:
    """Delete the hold of a site that begins on a day."""
    from dispatch.actions.holds import delete_hold

    with open_book(read_only=False) as (session, _settings):
        delete_hold(session, site, parse_day(first_day))
    say(
        _("Deleted: the hold of site {site} from {first_day}.").format(
            site=site, first_day=first_day
        )
    )


@sites_app.command("delete")
def delete_site_command(site: SiteArgument) -> None:
    """Delete a site with its holds and one-off work; refused while plans or records need it."""
    from dispatch.actions.book import delete_site

    with open_book(read_only=False) as (session, _settings):
        delete_site(session, site)
    say(_("Deleted: site {site}.").format(site=site))


@technicians_app.command("delete")
def delete_technician_command(technician: IdArgument) -> None:
    """Delete a technician; refused while plans, records or somebody's sign-in need the id."""
    from dispatch.actions.book import delete_technician
    from dispatch.actions.people import everybody

    with open_people(read_only=True) as (session, _settings):
        people = everybody(session)
    with open_book(read_only=False) as (session, _settings):
        delete_technician(session, technician, people)
    say(_("Deleted: technician {technician}.").format(technician=technician))


@one_offs_app.command("add")
def add_one_off_command(
    site: SiteArgument,
    title: Annotated[str, typer.Argument(metavar="TITLE", help="What is to be done.")],
    minutes: Annotated[str, typer.Option(help="Minutes of its visit, or of each: 180;30;30.")],
    kind: Annotated[str, typer.Option(help="green-pool, follow-up or one-off.")] = "one-off",
    first: Annotated[str, typer.Option(help="First day; by the kind when not given.")] = "",
    last: Annotated[str, typer.Option(help="Last day; by the kind when not given.")] = "",
    work_id: Annotated[str, typer.Option("--id", help="Its id; the next free one else.")] = "",
    skills: Annotated[str, typer.Option(help="What the technician must be able to do.")] = "",
    persons: Annotated[int, typer.Option(help="How many persons it needs.")] = 1,
    windows: Annotated[str, typer.Option(help="When it may begin, as 07:00-12:00.")] = "",
    priority: Annotated[str, typer.Option(help="high, normal or can-wait.")] = "normal",
    parts: Annotated[str, typer.Option(help="What to load.")] = "",
    mass_kg: Annotated[float, typer.Option(help="What a visit takes from the payload, kg.")] = 0.0,
    chemicals_kg: Annotated[float, typer.Option(help="Regulated chemicals, kg gross.")] = 0.0,
    technician: Annotated[str, typer.Option(help="The only technician who may come.")] = "",
    remark: Annotated[str, typer.Option("--note", help="Anything else.")] = "",
) -> None:
    """Add one piece of one-off work."""
    from dispatch.actions.one_off_work import add_one_off, next_one_off_id

    what = parse_choice(VisitKind)(kind)
    with open_book(read_only=False) as (session, settings):
        span = usual_span(what, settings.today())
        work = OneOff(
            id=parse_id(work_id) if work_id else next_one_off_id(session),
            site_id=site,
            title=title,
            kind=what,
            first_day=parse_day(first) if first else span[0],
            last_day=parse_day(last) if last else span[1],
            minutes=parse_several_minutes(minutes),
            consecutive=what is VisitKind.GREEN_POOL,
            skills=parse_list(skills),
            crew=persons,
            windows=parse_windows(windows) if windows else ALL_DAY,
            priority=parse_choice(Priority)(priority),
            parts=parts,
            mass_kg=mass_kg,
            chemicals_kg=chemicals_kg,
            technician_id=technician or None,
            note=remark,
        )
        add_one_off(session, work)
    say(
        _("Added {id}: {title}, from {first_day} to {last_day}.").format(
            id=work.id, title=work.title, first_day=work.first_day, last_day=work.last_day
        )
    )


@one_offs_app.command("visited")
def visit_one_off_command(work: IdArgument, on: OnOption = "") -> None:
    """Note that a visit of the work took place; the last one finishes it."""
    from dispatch.actions.one_off_work import visit_one_off

    with open_book(read_only=False) as (session, settings):
        found = visit_one_off(session, work, parse_day(on) if on else settings.today())
    left = len(found.minutes_left)
    said = (
        _("{id} was visited on {day}; visits left: {left}.")
        if left
        else _("{id} was visited on {day}; it is done.")
    )
    say(said.format(id=found.id, day=found.visited_on[-1], left=left))


@one_offs_app.command("done")
def finish_one_off_command(work: IdArgument, on: OnOption = "") -> None:
    """Note that the work was finished, or given up."""
    from dispatch.actions.one_off_work import finish_one_off

    with open_book(read_only=False) as (session, settings):
        found = finish_one_off(session, work, parse_day(on) if on else settings.today())
    say(_("{id} is done as of {done_on}.").format(id=found.id, done_on=found.done_on))


@one_offs_app.command("delete")
def delete_one_off_command(work: IdArgument) -> None:
    """Delete one-off work."""
    from dispatch.actions.one_off_work import delete_one_off

    with open_book(read_only=False) as (session, _settings):
        delete_one_off(session, work)
    say(_("Deleted: one-off work {work}.").format(work=work))
