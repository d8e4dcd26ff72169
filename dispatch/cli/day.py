"""`dispatch day`: publish days, see where they stand, repair them."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, open_book, say, show_list
from dispatch.clock import IsoWeek, parse_day, parse_time
from dispatch.errors import InvalidValue, NotFound
from dispatch.words import _

if TYPE_CHECKING:
    from sqlmodel import Session

    from dispatch.actions.day import Offer
    from dispatch.day.triggers import Trigger
    from dispatch.settings import Settings

day_app = typer.Typer(help="The day: publish it, see where it stands, repair it.")

DayArgument = Annotated[str, typer.Argument(metavar="DAY", help="Date, as 2026-11-30.")]
WhoOption = Annotated[str, typer.Option("--who", help="Who does it, for the history.")]
OFFICE = "the office"


@day_app.command("publish")
def publish_command(
    when: Annotated[str, typer.Argument(metavar="DAY|WEEK", help="2026-11-30 or 2026-W49.")],
    who: WhoOption = OFFICE,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Although points of the check list are wrong.")
    ] = False,
) -> None:
    """Publish a planned day, or the days of a planned week that have neither begun nor a repair.

    A week of which a point of the check list is wrong, or a day on which a rule is broken, is
    published with --anyway alone.
    """
    from dispatch.actions import day as actions
    from dispatch.actions.read_plan import week_plan
    from dispatch.actions.week_check import check_day_ready, check_ready
    from dispatch.actions.week_publish import published_week

    is_week = bool(re.fullmatch(r"\d{4}-?W\d{2}", when.strip()))
    if not anyway:
        with open_book(read_only=True) as (session, settings):
            if is_week:
                check_ready(session, settings, IsoWeek.parse(when), settings.today())
            else:
                check_day_ready(session, settings, parse_day(when), settings.today())
    with open_book(read_only=False) as (session, settings):
        at = settings.now()
        if is_week:
            week = IsoWeek.parse(when)
            made = actions.publish_week(session, settings, week, who=who, at=at)
            days = published_week(session, week_plan(session, week), settings.today())
            repaired = [day for day, one in days.items() if one.is_repaired]
        else:
            day = parse_day(when)
            made = {day: actions.publish_day(session, settings, day, who=who, at=at)}
            repaired = []
    for one, revisions in made.items():
        names = ", ".join(f"{new.technician_id} ({new.revision})" for new in revisions)
        say(f"{one}: {names or _('nothing has changed')}")
    for one in repaired:
        say(f"{one}: {_('left as it was repaired; publish the day by itself to change that')}")


@day_app.command("show")
def show_command(
    when: DayArgument,
    number: Annotated[
        int | None, typer.Option("--number", help="As it stood after this event.")
    ] = None,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show where a day stands, or stood: every visit due, and what to look at."""
    from dispatch.actions import day as actions
    from dispatch.actions.day_lists import day_stop_list

    day = parse_day(when)
    with open_book(read_only=True) as (session, settings):
        if number is None:
            now = actions.day_now(session, settings, day, now=settings.now())
        else:
            now = actions.state_at(session, settings, day, number)
    show_list(
        day_stop_list(now),
        _("{day}, version {version}").format(day=day, version=now.version),
        to_csv=to_csv,
        to_json=to_json,
    )
    if not (to_csv or to_json):
        people = {one.technician_id: one.name for one in now.technicians}
        sites = {row.stop.visit_id: row.site_name for one in now.technicians for row in one.stops}
        for flag in now.flags:
            where = [people[flag.technician_id], sites.get(flag.visit_id or "", "")]
            say(f"{', '.join(filter(None, where))}: {flag.words}")


@day_app.command("history")
def history_command(
    when: DayArgument, to_csv: CsvOption = False, to_json: JsonOption = False
) -> None:
    """Show what happened on a day: who changed what, when and why."""
    from dispatch.actions import day as actions
    from dispatch.actions.day_lists import event_list

    day = parse_day(when)
    with open_book(read_only=True) as (session, settings):
        table = event_list(actions.history(session, settings, day))
    show_list(table, _("History of {day}").format(day=day), to_csv=to_csv, to_json=to_json)


@day_app.command("alarms")
def alarms_command(when: DayArgument) -> None:
    """Raise an alarm for each technician who is overdue without a sign of life."""
    from dispatch.actions import day as actions

    with open_book(read_only=False) as (session, settings):
        found = actions.raise_alarms(session, settings, parse_day(when), now=settings.now())
    for event in found:
        words = _("{technician} at {visit}: {why}")
        say(words.format(technician=event.technician_id, visit=event.visit_id, why=event.why))


@day_app.command("repair")
def repair_command(
    when: DayArgument,
    out: Annotated[str, typer.Option("--out", help="Technician who is out.")] = "",
    back: Annotated[str, typer.Option("--back", help="Technician who was out and is back.")] = "",
    late: Annotated[str, typer.Option("--late", help="Technician who starts late.")] = "",
    at: Annotated[str, typer.Option("--at", help="From when, as 10:30.")] = "",
    urgent: Annotated[str, typer.Option("--urgent", help="Site with an urgent visit.")] = "",
    move: Annotated[str, typer.Option("--move", help="Visit to go to another day.")] = "",
    to: Annotated[str, typer.Option("--to", help="The day it goes to.")] = "",
    cancel: Annotated[str, typer.Option("--cancel", help="Visit that is not wanted.")] = "",
    overrun: Annotated[str, typer.Option("--overrun", help="Visit that takes longer.")] = "",
    minutes: Annotated[int, typer.Option("--minutes", help="Of the urgent visit or the rest.")] = 0,
    closed: Annotated[str, typer.Option("--closed", help="Closed area: LAT,LON,METRES.")] = "",
    reopened: Annotated[str, typer.Option("--reopened", help="Area that is open again.")] = "",
    take: Annotated[str, typer.Option("--take", help="Key of the option to take.")] = "",
    who: WhoOption = OFFICE,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show ways to repair a day, cheapest first, or take one; nothing given: it runs late."""
    from dispatch.actions.day_lists import option_list
    from dispatch.actions.repair_words import option_lines

    happened = {
        "out": out, "late": late, "at": at, "urgent": urgent, "move": move, "to": to,
        "cancel": cancel, "overrun": overrun, "closed": closed, "back": back, "reopened": reopened,
    }  # fmt: skip
    offer = _offer_or_take(parse_day(when), happened, minutes, take, who)
    if offer is None:
        return
    if not (to_csv or to_json):
        say(offer.why, *option_lines(offer))
    else:
        show_list(option_list(offer), offer.why, to_csv=to_csv, to_json=to_json)


def _offer_or_take(
    day: date, happened: dict[str, str], minutes: int, take: str, who: str
) -> Offer | None:
    """The options; None when one of them was taken."""
    from dispatch.actions import day as actions

    with open_book(read_only=not take) as (session, settings):
        trigger = _trigger(session, settings, day, happened, minutes)
        now = settings.now()
        offer = actions.repair_options(session, settings, day, trigger, now=now)
        if not take:
            return offer
        chosen = next((one for one in offer.options if one.key == take), None)
        if chosen is None:
            keys = ", ".join(one.key for one in offer.options)
            raise NotFound(
                _("There is no option '{take}': there are {keys}.").format(take=take, keys=keys)
            )
        made = actions.take_option(
            session,
            settings,
            day,
            chosen.choice,
            expected_version=offer.version,
            who=who,
            now=now,
        )
        names = ", ".join(offer.names.technician(one.technician_id) for one in made)
        say(f"{chosen.title}: {names or _('no change')}.")
    return None


def _trigger(
    session: Session, settings: Settings, day: date, given: dict[str, str], minutes: int
) -> Trigger:
    """The one thing that happened, from the options of the command."""
    from dispatch.actions import day as actions
    from dispatch.actions.working_day import on_shift_s
    from dispatch.day import triggers

    kinds = [name for name, value in given.items() if value and name not in ("at", "to")]
    if len(kinds) > 1:
        raise InvalidValue(_("A repair is for one thing that happened: give one of the options."))
    kind = kinds[0] if kinds else ""
    what = given.get(kind, "")
    if kind == "urgent":
        return actions.urgent_stop(session, settings, day, what, minutes=minutes)

    def at_s() -> int:
        return on_shift_s(session, settings, day, what, parse_time(given["at"]))

    makers: dict[str, Callable[[], Trigger]] = {
        "": triggers.RunningLate,
        "out": lambda: triggers.TechnicianOut(what, at_s()),
        "back": lambda: triggers.TechnicianBack(what, at_s()),
        "late": lambda: triggers.LateStart(what, at_s()),
        "overrun": lambda: triggers.JobOverrun(what, 60 * minutes),
        "closed": lambda: triggers.RoadClosed(*_area(what)),
        "reopened": lambda: triggers.RoadReopened(*_area(what)),
        "move": lambda: triggers.StopMoved(what, parse_day(given["to"]) if given["to"] else None),
        "cancel": lambda: triggers.StopCancelled(what),
    }
    return makers[kind]()


def _area(text: str) -> tuple[float, float, float]:
    try:
        lat, lon, radius_m = (float(part) for part in text.split(","))
    except ValueError as error:
        raise InvalidValue(
            _(
                "'{text}' is no area: write latitude, longitude and metres, as 33.45,-112.07,800."
            ).format(text=text)
        ) from error
    return lat, lon, radius_m
