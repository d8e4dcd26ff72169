"""Holds, one at a time."""

from __future__ import annotations

from datetime import date

import pytest

from dispatch.actions.book import delete_site, delete_technician, holds, sites
from dispatch.actions.holds import add_hold, delete_hold, end_hold
from dispatch.errors import InUse, InvalidValue, NotFound
from dispatch.sites import Hold
from tests.town import Company

AWAY = Hold("S2", date(2026, 12, 1), date(2026, 12, 10), "away")


def test_a_hold_is_added_ended_early_and_deleted(company: Company) -> None:
    """The customer came back sooner."""
    with company.writing() as session:
        add_hold(session, AWAY)
        assert end_hold(session, "S2", AWAY.first_day, date(2026, 12, 5)).last_day.day == 5
        assert [hold.last_day.day for hold in holds(session) if hold.site_id == "S2"] == [5]
        delete_hold(session, "S2", AWAY.first_day)
        assert not [hold for hold in holds(session) if hold.site_id == "S2"]


def test_a_hold_that_cannot_be_is_refused_with_the_reason(company: Company) -> None:
    """An unknown site, a second hold of the same day, an end before the beginning, no hold."""
    with company.writing() as session:
        add_hold(session, AWAY)
        with pytest.raises(NotFound, match="no site 'S9'"):
            add_hold(session, Hold("S9", AWAY.first_day, AWAY.last_day))
        with pytest.raises(InvalidValue, match="has a hold from 2026-12-01"):
            add_hold(session, AWAY)
        with pytest.raises(InvalidValue, match="cannot end on 2026-11-30"):
            end_hold(session, "S2", AWAY.first_day, date(2026, 11, 30))
        with pytest.raises(NotFound, match="no hold that begins on 2026-12-24"):
            delete_hold(session, "S2", date(2026, 12, 24))


def test_a_site_and_a_technician_that_nothing_needs_can_be_deleted(company: Company) -> None:
    """A customer who never began, a technician who never came."""
    with company.writing() as session:
        delete_site(session, "S1")
        delete_technician(session, "T2", [])
        assert [site.id for site in sites(session)] == ["S2", "S3"]
        with pytest.raises(NotFound, match="no site 'S1'"):
            delete_site(session, "S1")
        with pytest.raises(NotFound, match="no technician 'T2'"):
            delete_technician(session, "T2", [])


def test_what_a_plan_needs_is_not_deleted(planned: Company) -> None:
    """The refusal says what to do instead."""
    with planned.writing() as session, pytest.raises(InUse, match="Give it a hold"):
        delete_site(session, "S1")
