"""The last visit of a site, taken back with the record that had set it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import null, update

from dispatch.actions.book import import_sites, import_technicians
from dispatch.store.book import read_some_sites, write_sites
from dispatch.store.record_tables import RecordRow
from dispatch.store.tables import table_of
from tests.actions.test_record_moves import correct, enter, visit, withdraw
from tests.town import SITES_CSV, TECHNICIANS_CSV, Company

GIVEN = date(2026, 11, 2)  # what the office entered when the customer came
EARLIER, LATER = date(2026, 11, 10), date(2026, 11, 17)


@pytest.fixture
def company(bare: Company) -> Company:
    """A company without a map, whose pool S1 was last visited on the day GIVEN."""
    with bare.writing() as session:
        import_technicians(session, bare.settings, TECHNICIANS_CSV)
        import_sites(session, bare.settings, SITES_CSV)
    set_last_visit(bare, GIVEN)
    return bare


def set_last_visit(company: Company, day: date | None) -> None:
    """What the office enters."""
    with company.writing() as session:
        site = read_some_sites(session, ["S1"])["S1"]
        write_sites(session, [replace(site, plan=replace(site.plan, last_visit_on=day))])


def last_visit(company: Company) -> date | None:
    with company.reading() as session:
        return read_some_sites(session, ["S1"])["S1"].plan.last_visit_on


def forget_moves(company: Company) -> None:
    """Leave the records as an upgrade finds them."""
    with company.writing() as session:
        session.execute(update(table_of(RecordRow)).values(moved=null()))


@pytest.mark.parametrize("before", [GIVEN, None])
def test_a_visit_that_never_was_leaves_the_site_as_it_was(
    company: Company, before: date | None
) -> None:
    """A new customer's first visit entered by mistake would never be made up."""
    set_last_visit(company, before)
    one = visit(1, LATER)
    enter(company, one)
    assert last_visit(company) == LATER
    withdraw(company, one)
    assert last_visit(company) == before


def test_a_visit_entered_anew_counts_from_its_new_day(company: Company) -> None:
    """The day was wrong: taken back, entered right, and taken back again."""
    one = visit(1, LATER)
    enter(company, one)
    withdraw(company, one)
    correct(company, one, skipped="", day=EARLIER.isoformat())
    assert last_visit(company) == EARLIER
    withdraw(company, one)
    assert last_visit(company) == GIVEN


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_two_visits_taken_back_in_any_order_leave_nothing(
    company: Company, order: tuple[int, int]
) -> None:
    """The later one was made upon the first: its memory must not bring that back."""
    both = visit(1, EARLIER), visit(2, LATER)
    enter(company, *both)
    for n in order:
        withdraw(company, both[n])
    assert last_visit(company) == GIVEN


def test_an_older_visit_that_came_late_counts_again(company: Company) -> None:
    """It changed nothing when it was sent, because the mistake had a later day."""
    false, true = visit(1, LATER), visit(2, EARLIER)
    enter(company, false)
    enter(company, true)
    withdraw(company, false)
    assert last_visit(company) == EARLIER
    withdraw(company, true)
    assert last_visit(company) == GIVEN


def test_one_of_two_records_of_a_day_taken_back_leaves_the_day_visited(company: Company) -> None:
    """Two phones sent the same visit: one of them was enough."""
    both = visit(1, LATER), visit(2, LATER)
    enter(company, *both)
    withdraw(company, both[0])
    assert last_visit(company) == LATER
    withdraw(company, both[1])
    assert last_visit(company) == GIVEN


def test_a_last_visit_that_the_office_set_stays(company: Company) -> None:
    """Somebody looked it up since, or knew the day before the record came."""
    one = visit(1, LATER)
    enter(company, one)
    set_last_visit(company, EARLIER)
    withdraw(company, one)
    assert last_visit(company) == EARLIER
    known = visit(2, EARLIER)
    enter(company, known)
    withdraw(company, known)
    assert last_visit(company) == EARLIER


def test_a_skipped_visit_that_is_corrected_moves_nothing(company: Company) -> None:
    """A word more about the locked gate does not unmake the visit of that day."""
    one = visit(1, GIVEN, skipped="gate locked")
    enter(company, one)
    forget_moves(company)
    correct(company, one, note="The neighbour has no key either.")
    assert last_visit(company) == GIVEN


@pytest.mark.parametrize("kinds", [(), ("heater-service",)])
def test_a_visit_of_before_this_was_noted_goes_back_to_the_one_before(
    company: Company, kinds: tuple[str, ...]
) -> None:
    """Nobody knows what stood there; the other records do, and the withdrawn day is wrong."""
    both = visit(1, EARLIER), visit(2, LATER, *kinds)
    enter(company, *both)
    forget_moves(company)
    withdraw(company, both[1])
    assert last_visit(company) == EARLIER
    withdraw(company, both[0])
    assert last_visit(company) is None


def test_a_visit_made_upon_one_of_before_does_not_bring_it_back(company: Company) -> None:
    """The older record goes first; the newer one remembers its day."""
    old, new = visit(1, EARLIER), visit(2, LATER)
    enter(company, old)
    forget_moves(company)
    enter(company, new)
    withdraw(company, old)
    assert last_visit(company) == LATER
    withdraw(company, new)
    assert last_visit(company) is None
