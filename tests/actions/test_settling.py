"""Follow-ups settled by records, and open again when the record turns out to be wrong."""

from __future__ import annotations

from typing import Any

import pytest

from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.due import visits_due
from dispatch.actions.records import correct_record, open_follow_ups, settle
from dispatch.actions.take_in import take_in_records
from dispatch.records.follow_ups import FollowUp, FollowUpKind
from dispatch.store.record_lists import read_follow_up
from tests.records.samples import content, record_id
from tests.town import SITES_CSV, TECHNICIANS_CSV, TODAY, WEEK, Company

TAKEN_BACK = {"skipped": "Entered by mistake.", "readings": []}
LOW, RIGHT = [[{"kind": "free-chlorine", "value": value}] for value in (0.2, 3.0)]


@pytest.fixture
def company(bare: Company) -> Company:
    """A company without a map and without records."""
    with bare.writing() as session:
        import_technicians(session, bare.settings, TECHNICIANS_CSV)
        import_sites(session, bare.settings, SITES_CSV)
    return bare


def enter(company: Company, number: int, day: int, **fields: Any) -> None:
    """A record of T1 at S1, on a day of November."""
    times = {"arrived_at": f"2026-11-{day}T16:00:00Z", "left_at": f"2026-11-{day}T16:30:00Z"}
    one = content(number, day=f"2026-11-{day}", **times, **fields)
    with company.writing() as session:
        (taken,) = take_in_records(session, company.settings, [one])
    assert taken.error is None, taken.error


def correct(company: Company, number: int, **fields: Any) -> None:
    with company.writing() as session:
        correct_record(
            session, company.settings, record_id(number), fields, by="T1", reason="a mistake"
        )


def still_open(company: Company) -> list[FollowUp]:
    with company.reading() as session:
        return open_follow_ups(session)


def bad_cover(company: Company) -> FollowUp:
    """What is asked for by the first record, of a cracked drain cover."""
    enter(company, 1, 20, seen=["drain-cover-cracked"])
    (asked,) = still_open(company)
    return asked


def visit_for(asked: FollowUp) -> str:
    return f"one-off:{asked.id}/2026-W47/1"


def test_a_closed_pool_whose_visit_never_was_is_owed_again(company: Company) -> None:
    """People swim over a cracked cover while everybody believes that somebody has been there."""
    asked = bad_cover(company)
    enter(company, 2, 21, visit_id=visit_for(asked))
    assert still_open(company) == []
    correct(company, 2, **TAKEN_BACK)
    assert still_open(company) == [asked]
    with company.reading() as session:
        owed = visits_due(session, company.settings, WEEK.previous, TODAY).due
    assert f"one-off:{asked.id}" in {one.demand_id for one in owed}


def test_unsafe_water_that_nobody_tested_is_open_again(company: Company) -> None:
    """The right figures were those of the pool next door."""
    enter(company, 1, 20, readings=LOW)
    (asked,) = still_open(company)
    enter(company, 2, 21, readings=RIGHT)
    assert still_open(company) == []
    correct(company, 2, **TAKEN_BACK)
    assert still_open(company) == [asked]
    assert asked.kind is FollowUpKind.UNSAFE_WATER


def test_a_corrected_reading_settles_what_it_says_now(company: Company) -> None:
    """3.0 was 0.3: unsafe still. And 0.3 was 1.5 after all."""
    enter(company, 1, 20, readings=LOW)
    (asked,) = still_open(company)
    enter(company, 2, 21, readings=RIGHT)
    correct(company, 2, readings=[{"kind": "free-chlorine", "value": 0.3}])
    assert asked in still_open(company)
    correct(company, 2, readings=[{"kind": "free-chlorine", "value": 1.5}])
    assert still_open(company) == []
    with company.reading() as session:
        assert read_follow_up(session, asked.id).outcome == "Tested right on 2026-11-21: 1.5."


def test_a_visit_entered_anew_settles_again(company: Company) -> None:
    """After the undo the technician does it right, on the next day."""
    asked = bad_cover(company)
    enter(company, 2, 21, visit_id=visit_for(asked))
    correct(company, 2, **TAKEN_BACK)
    correct(company, 2, skipped="", day="2026-11-22")
    assert still_open(company) == []
    with company.reading() as session:
        assert str(read_follow_up(session, asked.id).settled_on) == "2026-11-22"


def test_a_visit_that_was_for_something_else_settles_nothing(company: Company) -> None:
    """The record named the job, and it was the regular service; the other way round it counts."""
    asked = bad_cover(company)
    enter(company, 2, 21, visit_id=visit_for(asked))
    correct(company, 2, visit_id=None)
    assert still_open(company) == [asked]
    correct(company, 2, visit_id=visit_for(asked))
    assert still_open(company) == []


def test_what_another_record_settles_as_well_stays_settled(company: Company) -> None:
    """Two went there, or tested: one of them was enough."""
    asked = bad_cover(company)
    enter(company, 2, 20, readings=LOW)
    for number, day in ((3, 21), (4, 22)):
        enter(company, number, day, visit_id=visit_for(asked), readings=RIGHT)
    correct(company, 3, **TAKEN_BACK)
    assert still_open(company) == []
    correct(company, 4, **TAKEN_BACK)
    assert len(still_open(company)) == 2


def test_what_a_person_settled_stays_settled(company: Company) -> None:
    """The office knows why; a mistaken visit of that day changes nothing about it."""
    asked = bad_cover(company)
    with company.writing() as session:
        settle(session, company.settings, asked.id, by="Office", outcome="The owner replaced it.")
    enter(company, 2, TODAY.day, visit_id=visit_for(asked))
    correct(company, 2, **TAKEN_BACK)
    assert still_open(company) == []


def test_what_nobody_asks_for_any_more_is_not_opened(company: Company) -> None:
    """The cover was fine; once it is cracked again in the record, the pool is closed again."""
    asked = bad_cover(company)
    enter(company, 2, 21, visit_id=visit_for(asked))
    correct(company, 1, seen=[])
    correct(company, 2, **TAKEN_BACK)
    assert still_open(company) == []
    correct(company, 1, seen=["drain-cover-cracked"])
    assert still_open(company) == [asked]


def test_a_test_before_the_unsafe_one_settles_nothing(company: Company) -> None:
    """The day of the unsafe reading was wrong: it came after the right one."""
    enter(company, 1, 19, readings=LOW)
    enter(company, 2, 20, readings=RIGHT)
    assert still_open(company) == []
    correct(company, 1, day="2026-11-21", arrived_at=None, left_at=None)
    (asked,) = still_open(company)
    assert (str(asked.noted_on), str(asked.due_on)) == ("2026-11-21", "2026-11-22")


def test_a_visit_to_another_pool_settles_nothing_here(company: Company) -> None:
    """Whoever mistook the pool has not seen to its cover."""
    asked = bad_cover(company)
    enter(company, 2, 21, site_id="S2", visit_id=visit_for(asked))
    assert still_open(company) == [asked]


CHANGED = {"upkeep": [{"kind": "drain-cover-change"}]}


@pytest.mark.parametrize("mended", [CHANGED, {"seen": ["drain-covers-sound"]}])
def test_covers_in_order_settle_the_closing_of_the_pool(
    company: Company, mended: dict[str, Any]
) -> None:
    """Replaced at the next regular visit: nobody is sent once more; a mistake opens it again."""
    asked = bad_cover(company)
    enter(company, 2, 21, **mended)
    assert still_open(company) == []
    with company.reading() as session:
        assert read_follow_up(session, asked.id).outcome == "Drain covers in order on 2026-11-21."
    correct(company, 2, **TAKEN_BACK, upkeep=[], seen=[])
    assert still_open(company) == [asked]


def test_a_cover_replaced_at_the_visit_that_saw_it_asks_for_nothing(company: Company) -> None:
    """Cracked, and a new one put in at once."""
    enter(company, 1, 20, seen=["drain-cover-cracked"], **CHANGED)
    assert still_open(company) == []


def test_a_look_neither_renews_a_cover_nor_clears_the_water(company: Company) -> None:
    """Past its date it looks sound still, and what cannot be seen is not told by its cover."""
    enter(company, 1, 20, seen=["drain-cover-expired"])
    enter(company, 2, 20, seen=["main-drain-not-visible"])
    enter(company, 3, 21, seen=["drain-covers-sound"])
    assert len(still_open(company)) == 2
    enter(company, 4, 21, **CHANGED)
    (left,) = still_open(company)
    assert "main drain" in left.reason


def test_a_cover_looked_at_before_it_broke_settles_nothing(company: Company) -> None:
    """The record of last week comes in late, over a dead spot."""
    asked = bad_cover(company)
    enter(company, 2, 19, seen=["drain-covers-sound"])
    enter(company, 3, 21, seen=["drain-covers-sound", "drain-cover-loose"])
    assert asked in still_open(company)
