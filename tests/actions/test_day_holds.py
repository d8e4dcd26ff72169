"""A hold that is entered when the day is out already: nobody drives there unknowingly."""

from __future__ import annotations

from datetime import datetime

import pytest

from dispatch.actions import day as actions
from dispatch.actions.book import import_holds
from dispatch.actions.day_lists import day_stop_list
from dispatch.actions.paper_day import paper_day
from dispatch.day.moments import moment_of
from dispatch.day.projection import FlagKind
from dispatch.day.triggers import StopCancelled
from tests.town import MONDAY, Company

HOLD = "site_id,first_day,last_day,reason\nS1,2026-11-30,2026-12-04,pool is painted\n"


@pytest.fixture
def held(planned: Company) -> Company:
    """Monday is published; then S1 asks for no visit from that day on."""
    with planned.writing() as session:
        actions.publish_day(session, planned.settings, MONDAY, who="Ada", at=seven(planned))
        import_holds(session, planned.settings, HOLD)
    return planned


def seven(company: Company) -> datetime:
    return moment_of(MONDAY, 7 * 3600, company.settings.zone)


def seen(company: Company) -> actions.DayNow:
    with company.reading() as session:
        return actions.day_now(session, company.settings, MONDAY, now=seven(company))


def test_a_stop_in_a_hold_is_flagged_and_marked_in_the_list(held: Company) -> None:
    """The dispatcher reads why, and what to do."""
    now = seen(held)
    (flag,) = [one for one in now.flags if one.kind is FlagKind.IN_HOLD]
    assert (flag.technician_id, flag.visit_id) == ("T1", "S1/2026-W49/1")
    assert flag.words == (
        "in a hold from 2026-11-30 to 2026-12-04 (pool is painted): cancel the stop or move it"
    )
    table = day_stop_list(now)
    at = table.columns.index("in_hold")
    assert {row[3]: row[at] for row in table.rows} == {"S1": True, "S2": False, "S3": False}


def test_a_stop_that_was_cancelled_is_flagged_no_more(held: Company) -> None:
    """It stands in no route, so nobody goes."""
    with held.writing() as session:
        found = actions.repair_options(
            session, held.settings, MONDAY, StopCancelled("S1/2026-W49/1"), now=seven(held)
        )
        actions.take_option(
            session, held.settings, MONDAY, found.options[0].choice,
            expected_version=found.version, who="Ada", now=seven(held),
        )  # fmt: skip
    assert [one for one in seen(held).flags if one.kind is FlagKind.IN_HOLD] == []


def test_the_technicians_sheet_knows_of_the_hold(held: Company) -> None:
    """Whoever drives has to ask before he does."""
    with held.reading() as session:
        sheet = paper_day(session, held.settings, "T1", MONDAY).sheet
    holds = {row.site.id: row.hold.reason for row in sheet.stops if row.hold is not None}
    assert holds == {"S1": "pool is painted"}
