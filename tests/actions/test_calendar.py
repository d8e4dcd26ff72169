"""What a technician's calendar tells of visits that move."""

from __future__ import annotations

from datetime import date, timedelta

from dispatch.actions import day as actions
from dispatch.actions.calendars import CalendarStop, technician_calendar
from dispatch.day.moments import moment_of
from dispatch.day.triggers import StopMoved
from tests.town import MONDAY, Company

S1 = "S1/2026-W49/1"
THURSDAY = MONDAY + timedelta(days=3)


def _shown(company: Company, today: date) -> dict[str, CalendarStop]:
    """The calendar of T1 as a phone reads it on a day, by visit."""
    settings = company.settings.model_copy(update={"fixed_today": today})
    with company.reading() as session:
        found = technician_calendar(session, settings, "T1")
    return {one.visit_id: one for one in found.stops}


def test_a_moved_visit_never_counts_fewer_changes_than_it_did(published: Company) -> None:
    """Readers take an entry with a lower SEQUENCE for an old one (RFC 5545, section 3.8.7.4).

    The day that S1 was moved away from is left out of the calendar before the day it went to.
    """
    seven = moment_of(MONDAY, 7 * 3600, published.settings.zone)
    with published.reading() as session:
        offer = actions.repair_options(
            session, published.settings, MONDAY, StopMoved(S1, THURSDAY), now=seven
        )
    with published.writing() as session:
        actions.take_option(
            session, published.settings, MONDAY, offer.options[0].choice,
            expected_version=offer.version, who="Ada", now=seven,
        )  # fmt: skip
    with published.writing() as session:
        actions.publish_day(session, published.settings, THURSDAY, who="Ada", at=seven)

    before = _shown(published, MONDAY)[S1]
    assert (before.day, before.sequence) == (THURSDAY, 1)
    for days in range(1, 18):
        assert _shown(published, MONDAY + timedelta(days=days))[S1] == before
    assert _shown(published, THURSDAY + timedelta(days=15)) == {}
