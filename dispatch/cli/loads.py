"""`dispatch loads`: hours over the weeks, their cost, and the accounts; and overtime pay."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, note, open_book, say, show_list
from dispatch.clock import IsoWeek
from dispatch.pay import regular_rate_overtime
from dispatch.words import _


class LoadList(StrEnum):
    """Lists of `dispatch loads`."""

    WEEKS = "weeks"
    TECHNICIANS = "technicians"
    ACCOUNTS = "accounts"


def loads_command(
    which: Annotated[LoadList, typer.Option("--list", help="Which list.")] = LoadList.WEEKS,
    until: Annotated[
        str | None, typer.Option(metavar="WEEK", help="Last week; the latest planned by default.")
    ] = None,
    to_csv: CsvOption = False,
    to_json: JsonOption = False,
) -> None:
    """Show hours, driving, spread and cost of the planned weeks, or what accounts take and pay."""
    from dispatch.actions import owner_loads, read_plan

    with open_book(read_only=True) as (session, settings):
        planned = read_plan.planned_weeks(session)
        last = IsoWeek.of(settings.today()) if not planned else planned[-1]
        week = last if until is None else IsoWeek.parse(until)
        if which is LoadList.ACCOUNTS:
            table = owner_loads.account_list(owner_loads.accounts(session, settings, week))
        else:
            found = owner_loads.week_figures(session, settings, week)
            by_week = which is LoadList.WEEKS
            table = owner_loads.week_list(found) if by_week else owner_loads.figures_list(found)
    show_list(table, _("Loads: {which}").format(which=which), to_csv=to_csv, to_json=to_json)


def overtime_command(
    hours: Annotated[float, typer.Argument(help="All hours worked in the week, driving too.")],
    pay: Annotated[float, typer.Argument(help="Earned by the pool.")],
    other: Annotated[float, typer.Option(help="Earned by the hour, as for waiting.")] = 0.0,
) -> None:
    """Reckon the overtime that a technician paid by the pool is owed for a week."""
    found = regular_rate_overtime(hours, pay, other)
    say(
        _(
            "Regular rate {rate:.2f} an hour, overtime premium {premium:.2f}, pay of the week "
            "{total:.2f}."
        ).format(rate=found.regular_rate, premium=found.premium, total=found.total)
    )
    note(_("By 29 CFR 778.111(a), an example: state law and an accountant come first."))
