"""`dispatch loads`: the technicians' hours over the weeks, their cost, and the accounts."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from dispatch.cli.console import CsvOption, JsonOption, open_book, show_list
from dispatch.clock import IsoWeek
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
