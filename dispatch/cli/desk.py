"""`dispatch week`: edits by hand, undo, locks, planning again, comparing, the check list."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, open_book, say, show_list
from dispatch.cli.weeks import WeekArgument, long_run
from dispatch.clock import IsoWeek, parse_day
from dispatch.edits.locks import Lock, LockKind
from dispatch.intake.parse import parse_weekdays
from dispatch.settings import load_settings
from dispatch.sites import Rhythm
from dispatch.words import _

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.edits.moves import Edit

week_app = typer.Typer(help="Edit a planned week by hand and check it.", no_args_is_help=True)
WHO = "command line"  # as whom a shell edits
VisitArgument = Annotated[str, typer.Argument(metavar="VISIT", help="A visit, as S017/2026-W49/1.")]
TechnicianArgument = Annotated[str, typer.Argument(metavar="TECHNICIAN", help="Id, as T1.")]
DayArgument = Annotated[str, typer.Argument(metavar="DAY", help="A day, as 2026-11-30.")]
TryOption = Annotated[bool, typer.Option("--try", help="Only tell what would come of it.")]
VisitOption = Annotated[str, typer.Option("--visit", help="A visit, as S017/2026-W49/1.")]
TechnicianOption = Annotated[str, typer.Option("--technician", help="With --day: a route.")]
DayOption = Annotated[str, typer.Option("--day", help="A day, as 2026-11-30.")]


@week_app.command("move")
def move_command(
    week: WeekArgument,
    visit: VisitArgument,
    technician: TechnicianArgument,
    day: DayArgument,
    stop: Annotated[
        int | None, typer.Option(min=1, help="As which stop; where it fits best when not given.")
    ] = None,
    tried: TryOption = False,
) -> None:
    """Move a visit to a technician, day and place; broken rules are told, not refused."""
    from dispatch.edits.moves import Move

    position = None if stop is None else stop - 1
    _edit(week, Move(visit, technician, parse_day(day), position), tried)


@week_app.command("take-out")
def take_out_command(week: WeekArgument, visit: VisitArgument, tried: TryOption = False) -> None:
    """Take a visit out of its route; it is unplaced then."""
    from dispatch.edits.moves import TakeOut

    _edit(week, TakeOut(visit), tried)


@week_app.command("carry")
def carry_command(
    week: WeekArgument,
    upkeep: Annotated[str, typer.Argument(metavar="UPKEEP", help="Id of upkeep due.")],
    visit: VisitOption = "",
    tried: TryOption = False,
) -> None:
    """Let upkeep ride on a visit, or put it off where no visit is named."""
    from dispatch.edits.moves import Carry

    _edit(week, Carry(upkeep, visit or None), tried)


@week_app.command("undo")
def undo_command(week: WeekArgument) -> None:
    """Undo the latest step."""
    _step(week, back=True)


@week_app.command("redo")
def redo_command(week: WeekArgument) -> None:
    """Do the step again that was undone last."""
    _step(week, back=False)


@week_app.command("history")
def history_command(
    week: WeekArgument, to_csv: CsvOption = False, to_json: JsonOption = False
) -> None:
    """List the versions of the plan."""
    from dispatch.actions.plan_versions import history, history_list

    with open_book(read_only=True) as (session, _settings):
        table = history_list(history(session, IsoWeek.parse(week)))
    show_list(table, _("{week}: versions").format(week=week), to_csv=to_csv, to_json=to_json)


@week_app.command("lock")
def lock_command(
    week: WeekArgument,
    visit: VisitOption = "",
    technician: TechnicianOption = "",
    day: DayOption = "",
) -> None:
    """Lock a visit, a day, or a technician's day against planning again."""
    from dispatch.actions.week_desk import lock

    with open_book(read_only=False) as (session, _settings):
        lock(session, IsoWeek.parse(week), _lock(visit, technician, day))
    say(_("Locked: planning again leaves it as it is."))


@week_app.command("unlock")
def unlock_command(
    week: WeekArgument,
    visit: VisitOption = "",
    technician: TechnicianOption = "",
    day: DayOption = "",
) -> None:
    """Take a lock away."""
    from dispatch.actions.week_desk import unlock

    with open_book(read_only=False) as (session, _settings):
        unlock(session, IsoWeek.parse(week), _lock(visit, technician, day))
    say(_("Not locked."))


@week_app.command("locks")
def locks_command(
    week: WeekArgument, to_csv: CsvOption = False, to_json: JsonOption = False
) -> None:
    """List the locks."""
    from dispatch.actions.week_desk import lock_list, locks

    with open_book(read_only=True) as (session, _settings):
        table = lock_list(locks(session, IsoWeek.parse(week)))
    show_list(table, _("{week}: locks").format(week=week), to_csv=to_csv, to_json=to_json)


@week_app.command("again")
def again_command(
    week: WeekArgument,
    iterations: Annotated[
        int | None, typer.Option(min=1, help="Iterations of the search; by default by size.")
    ] = None,
    take: Annotated[bool, typer.Option("--take", help="Take the result at once.")] = False,
) -> None:
    """Plan again from the present plan; the result stands beside it until it is taken."""
    from dispatch.actions.plan_again import plan_again
    from dispatch.actions.week_check import is_same

    parsed = IsoWeek.parse(week)
    with long_run() as run:
        made = plan_again(
            run.engine,
            run.settings,
            parsed,
            today=run.settings.today(),
            at=run.settings.now(),
            who=WHO,
            iterations=iterations,
            progress=run.report,
            should_stop=run.should_stop,
        )
    old, new = made.difference.before, made.difference.after
    say(
        _(
            "{shifted} visits change for a customer; driving {before_h:.1f} h before, "
            "{after_h:.1f} h after; unplaced {unplaced} before, {unplaced_after} after."
        ).format(
            shifted=len(made.difference.shifted),
            before_h=old.drive_s / 3600,
            after_h=new.drive_s / 3600,
            unplaced=old.unplaced,
            unplaced_after=new.unplaced,
        )
    )
    if take:
        take_command(week)
    elif is_same(made.difference):
        say(
            _(
                "Nothing changes: planned again, the week comes out as it is. 'dispatch week drop "
                "{week}' closes the proposal."
            ).format(week=week)
        )
    else:
        say(
            _(
                "'dispatch week compare {week}' shows it, 'dispatch week take {week}' makes it "
                "the plan, 'dispatch week drop {week}' throws it away."
            ).format(week=week)
        )


@week_app.command("take")
def take_command(week: WeekArgument) -> None:
    """Make the proposal the plan."""
    from dispatch.actions.plan_again import take_proposal
    from dispatch.actions.plan_versions import trail

    parsed = IsoWeek.parse(week)
    with open_book(read_only=False) as (session, settings):
        version = trail(session, parsed).version
        number = take_proposal(session, parsed, version=version, who=WHO, at=settings.now())
    say(
        _("Week {week} stands at version {number}; 'dispatch week undo {week}' goes back.").format(
            week=week, number=number
        )
    )


@week_app.command("drop")
def drop_command(week: WeekArgument) -> None:
    """Throw the proposal away."""
    from dispatch.actions.plan_again import drop_proposal

    with open_book(read_only=False) as (session, _settings):
        drop_proposal(session, IsoWeek.parse(week))
    say(_("There is no proposal any more; the plan is as it was."))


@week_app.command("compare")
def compare_command(
    week: WeekArgument,
    before: Annotated[str, typer.Argument(help="present, proposal or a version.")] = "present",
    after: Annotated[str, typer.Argument(help="present, proposal or a version.")] = "proposal",
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show what one plan of the week does differently from another."""
    from dispatch.actions.week_check import compare_plans, difference_list

    with open_book(read_only=True) as (session, _settings):
        table = difference_list(compare_plans(session, IsoWeek.parse(week), before, after))
    show_list(
        table,
        _("{week}: {before} against {after}").format(week=week, before=before, after=after),
        to_csv=to_csv,
        to_json=to_json,
    )


@week_app.command("check")
def check_command(
    week: WeekArgument, to_csv: CsvOption = False, to_json: JsonOption = False
) -> None:
    """Show what to look at before the week is published."""
    from dispatch.actions.week_check import check_table, week_check_list

    with open_book(read_only=True) as (session, settings):
        points = week_check_list(session, settings, IsoWeek.parse(week), settings.today())
    show_list(
        check_table(points),
        _("{week}: check list").format(week=week),
        to_csv=to_csv,
        to_json=to_json,
    )


@week_app.command("places")
def places_command(
    week: WeekArgument,
    address: Annotated[str, typer.Argument(metavar="ADDRESS", help="Of the new customer.")],
    minutes: Annotated[int, typer.Option(min=1, help="Minutes of a visit.")] = 30,
    rhythm: Annotated[Rhythm, typer.Option(help="How often.")] = Rhythm.WEEKLY,
    favourite: Annotated[str, typer.Option(help="The day asked for, as Fri.")] = "",
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show where a new customer fits best: technician, days, extra minutes a week."""
    from dispatch.actions.new_customer import Wish, offer_list, places_for

    liked = min(parse_weekdays(favourite)) if favourite else None
    wish = Wish(address, address, rhythm, minutes, liked)
    with open_book(read_only=True) as (session, settings):
        found = places_for(session, settings, IsoWeek.parse(week), wish, settings.today())
    show_list(
        offer_list(found), _("{week}: places").format(week=week), to_csv=to_csv, to_json=to_json
    )
    if found.favourite_s is not None and not (to_csv or to_json):
        say(
            _("Insisting on {favourite} costs {cost_min} min a week.").format(
                favourite=favourite, cost_min=found.favourite_s // 60
            )
        )


def _edit(week: str, edit: Edit, tried: bool) -> None:
    from dispatch.actions.edit_plan import edit_plan
    from dispatch.actions.plan_versions import trail
    from dispatch.store.db import make_engine, transaction

    settings, parsed = load_settings(), IsoWeek.parse(week)
    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        version = trail(session, parsed).version
    done = edit_plan(
        engine,
        settings,
        parsed,
        [edit],
        version=version,
        who=WHO,
        at=settings.now(),
        today=settings.today(),
        save=not tried,
    )
    engine.dispose()
    gain_s = done.difference.after.drive_s - done.difference.before.drive_s
    say(
        _("{deed}. Driving {gain_min:+.0f} min. Version {version}.").format(
            deed=done.what, gain_min=gain_s / 60, version=done.version
        ),
        *done.sentences,
    )


def _step(week: str, *, back: bool) -> None:
    from dispatch.actions.plan_versions import redo, trail, undo

    parsed, go = IsoWeek.parse(week), undo if back else redo
    with open_book(read_only=False) as (session, settings):
        now = trail(session, parsed)
        at, today = settings.now(), settings.today()
        go(session, parsed, version=now.version, who=WHO, at=at, today=today)
    said = _("Undone: {deed}.") if back else _("Redone: {deed}.")
    say(said.format(deed=now.undo if back else now.redo))


def _lock(visit: str, technician: str, day: str) -> Lock:
    kind = LockKind.STOP if visit else LockKind.ROUTE if technician else LockKind.DAY
    return Lock(kind, visit or None, technician or None, parse_day(day) if day else None)
