"""Taking things out of the book."""

from __future__ import annotations

import pytest
from sqlalchemy import Engine

from dispatch.errors import InUse
from dispatch.store import book, removal
from dispatch.store.db import transaction
from dispatch.store.plans import write_plan
from tests.store.values import HOLDS, ONE_OFFS, PLAN, SITES, TECHNICIANS, UPKEEP

pytestmark = pytest.mark.both_databases


@pytest.fixture
def filled(engine: Engine) -> Engine:
    with transaction(engine) as session:
        book.write_sites(session, SITES)
        book.write_technicians(session, TECHNICIANS)
        book.write_holds(session, HOLDS)
        book.write_one_offs(session, ONE_OFFS)
    return engine


def test_a_site_goes_with_its_holds_and_one_off_work(filled: Engine) -> None:
    """Nothing may be left that points at it."""
    with transaction(filled) as session:
        removal.delete_site(session, "S001")
        assert [site.id for site in book.read_sites(session)] == ["S002", "S003"]
        assert {hold.site_id for hold in book.read_holds(session)} == {"S003"}
        assert [work.id for work in book.read_one_offs(session)] == ["J2"]


def test_a_site_that_a_plan_knows_stays_and_the_reason_is_told(filled: Engine) -> None:
    """A plan without its sites could be neither shown nor driven."""
    with transaction(filled) as session:
        write_plan(session, PLAN, UPKEEP, "digest")
        with pytest.raises(InUse, match=r"Site S002 cannot be deleted.*1 in 'stop'.*hold"):
            removal.delete_site(session, "S002")
        assert len(book.read_sites(session)) == 3


def test_a_technician_with_routes_stays(filled: Engine) -> None:
    """So does one without whom yesterday's routes would be nobody's."""
    with transaction(filled) as session:
        removal.delete_technician(session, "T1")
        assert [one.id for one in book.read_technicians(session)] == ["T2"]
        book.write_technicians(session, TECHNICIANS)
        write_plan(session, PLAN, UPKEEP, "digest")
        with pytest.raises(InUse, match=r"Technician T1 cannot be deleted.*days off"):
            removal.delete_technician(session, "T1")


def test_a_hold_and_a_job_can_always_go(filled: Engine) -> None:
    """What a plan has of them stays in the plan."""
    with transaction(filled) as session:
        removal.delete_hold(session, HOLDS[0].site_id, HOLDS[0].first_day)
        removal.delete_one_off(session, "J1")
        assert book.read_holds(session) == HOLDS[1:]
        assert book.read_one_offs(session) == ONE_OFFS[1:]
