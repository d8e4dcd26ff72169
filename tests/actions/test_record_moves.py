"""What a record did to the register of equipment, taken back with the record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import delete, null, update

from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.records import correct_record
from dispatch.actions.take_in import take_in_records
from dispatch.actions.upkeep_now import upkeep_due
from dispatch.clock import IsoWeek
from dispatch.equipment import Anode, CoverState, DrainCovers, Equipment, Filter, Media, SaltCell
from dispatch.store.book import read_some_sites, write_sites
from dispatch.store.record_tables import FollowUpRow, ReadingRow, RecordRow, RecordVersionRow
from dispatch.store.site_moves import taken_back
from dispatch.store.tables import table_of
from tests.town import SITES_CSV, TECHNICIANS_CSV, WEEK, Company, open_company

LONG_AGO, EARLIER, LATER = date(2024, 3, 1), date(2026, 11, 10), date(2026, 11, 17)
FULL = Equipment(
    filter=Filter(
        Media.SAND, LONG_AGO, 136.0, cleaned_on=LONG_AGO, clean_kpa=130.0, clean_on=LONG_AGO
    ),
    anode=Anode(LONG_AGO, LONG_AGO, 0.4, LONG_AGO),
    salt_cell=SaltCell(LONG_AGO, LONG_AGO, LONG_AGO, rated_hours=9000.0, scaled=True),
    covers=DrainCovers(date(2028, 5, 1), LONG_AGO, CoverState.LOOSE),
)


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Company]:
    """A company without a map."""
    company = open_company(tmp_path_factory.mktemp("moves"))
    with company.writing() as session:
        import_technicians(session, company.settings, TECHNICIANS_CSV)
        import_sites(session, company.settings, SITES_CSV)
    yield company
    company.engine.dispose()


@pytest.fixture
def company(opened: Company) -> Company:
    """The company, whose pool S1 has everything that ages and no record."""
    with opened.writing() as session:
        for row in (ReadingRow, FollowUpRow, RecordVersionRow, RecordRow):
            session.execute(delete(table_of(row)))
    set_register(opened, FULL)
    return opened


def set_register(company: Company, equipment: Equipment) -> None:
    """What the office enters."""
    with company.writing() as session:
        write_sites(session, [replace(read_some_sites(session, ["S1"])["S1"], equipment=equipment)])


def register(company: Company) -> Equipment:
    with company.reading() as session:
        return read_some_sites(session, ["S1"])["S1"].equipment


def visit(number: int, day: date, *kinds: str, **more: Any) -> dict[str, Any]:
    """A visit of T1 to S1 with upkeep."""
    return {
        "id": str(UUID(int=number, version=4)),
        "site_id": "S1",
        "technician_id": "T1",
        "day": day.isoformat(),
        "upkeep": [{"kind": kind} for kind in kinds],
        **more,
    }


def urgent(company: Company, week: IsoWeek = WEEK) -> set[str]:
    """The kinds of upkeep that the next visit of S1 should bring."""
    with company.reading() as session:
        return {
            one.kind for one in upkeep_due(session, week) if one.site_id == "S1" and one.is_urgent
        }


def due(company: Company, week: IsoWeek) -> set[str]:
    """All kinds of upkeep of S1 that may be done in a week."""
    with company.reading() as session:
        return {one.kind for one in upkeep_due(session, week) if one.site_id == "S1"}


def enter(company: Company, *visits: dict[str, Any]) -> None:
    with company.writing() as session:
        for taken in take_in_records(session, company.settings, visits):
            assert taken.error is None, taken.error


def correct(company: Company, one: dict[str, Any], **fields: Any) -> None:
    with company.writing() as session:
        correct_record(session, company.settings, one["id"], fields, by="T1", reason="a mistake")


def withdraw(company: Company, one: dict[str, Any]) -> None:
    """As a phone's undo does."""
    correct(company, one, skipped="Entered by mistake.", upkeep=[], readings=[], seen=[])


@pytest.mark.parametrize(
    "kind",
    [
        *("sand-change", "backwash", "anode-swap", "anode-cleaning", "drain-cover-check"),
        *("cell-cleaning", "cell-inspection", "cell-replacement"),
        *("pump-oring", "heater-service"),  # neither is in the register before
    ],
)
def test_upkeep_entered_by_mistake_leaves_the_register_as_it_was(
    company: Company, kind: str
) -> None:
    """A sand change that never was would keep the true one away for five years."""
    one = visit(1, LATER, kind)
    enter(company, one)
    assert register(company) != FULL
    withdraw(company, one)
    assert register(company) == FULL


@pytest.mark.parametrize(
    ("seen", "kind"),
    [("scale-on-cell", "cell-cleaning"), ("drain-cover-cracked", "drain-cover-change")],
)
def test_what_was_seen_makes_its_upkeep_due_until_it_is_done(
    company: Company, seen: str, kind: str
) -> None:
    """A phone has no other way to say it, and the next visit must bring what it takes."""
    sound = DrainCovers(date(2028, 5, 1), LONG_AGO, CoverState.SOUND)
    set_register(company, Equipment(salt_cell=SaltCell(EARLIER, EARLIER), covers=sound))
    before = register(company)
    one = visit(1, LATER, seen=[seen])
    enter(company, one)
    assert kind in urgent(company)
    withdraw(company, one)
    assert register(company) == before
    enter(company, visit(2, LATER, kind, seen=[seen]))  # and done about it at once
    assert kind not in urgent(company)


def test_a_cell_seen_without_scale_is_not_cleaned_by_the_year(company: Company) -> None:
    """Acid strips the coating; whoever looked and found nothing has said so on the phone.

    A look at the covers counts as well: those found sound are not replaced.
    """
    cracked = DrainCovers(date(2028, 5, 1), LONG_AGO, CoverState.CRACKED)
    set_register(company, Equipment(salt_cell=SaltCell(LONG_AGO), covers=cracked))
    year = IsoWeek(2027, 45)
    assert {"cell-cleaning", "drain-cover-change"} <= due(company, year)
    one = visit(1, LATER, seen=["no-scale-on-cell", "drain-covers-sound"])
    enter(company, one)
    assert not {"cell-cleaning", "drain-cover-change"} & due(company, year)
    enter(company, visit(2, LATER, seen=["no-scale-on-cell", "scale-on-cell"]))
    assert "cell-cleaning" in urgent(company)  # the worse of the two


def test_no_scale_where_there_is_no_cell_makes_none(company: Company) -> None:
    """Ticked at the pool next door: nobody is sent to inspect what is not there."""
    set_register(company, Equipment())
    enter(company, visit(1, LATER, seen=["no-scale-on-cell"]))
    assert register(company).salt_cell is None


def test_what_is_left_of_an_anode_makes_its_swap_due_until_it_is_swapped(company: Company) -> None:
    """Read as 40 % on a phone: still due a year later, and no more once it was swapped."""
    set_register(company, Equipment(anode=Anode(LONG_AGO)))
    left = [{"kind": "anode-remaining", "value": 40, "unit": "%"}]
    one = visit(1, EARLIER, readings=left)
    enter(company, one)
    assert urgent(company) == {"anode-swap"}
    assert urgent(company, IsoWeek(2027, 45)) == {"anode-swap"}
    withdraw(company, one)
    assert register(company).anode == Anode(LONG_AGO)
    enter(company, visit(2, LATER, "anode-swap", readings=left))
    assert register(company).anode == Anode(LATER, None, 1.0, LATER)
    assert urgent(company) == set()


def test_the_clean_pressure_goes_back_with_the_backwash(company: Company) -> None:
    """A false baseline would call every later pressure high."""
    pressure = {"kind": "filter-pressure", "value": 100, "unit": "kPa"}
    one = visit(1, LATER, "backwash", readings=[pressure])
    enter(company, one)
    media = register(company).filter
    assert media is not None
    assert (media.clean_kpa, media.clean_on) == (100.0, LATER)
    withdraw(company, one)
    assert register(company) == FULL


def test_a_date_that_the_office_set_since_stays(company: Company) -> None:
    """Somebody looked and knew better; only what the record made goes back."""
    one = visit(1, LATER, "anode-cleaning", "heater-service")
    enter(company, one)
    known = LATER + timedelta(days=2)
    assert FULL.anode is not None
    set_register(company, replace(register(company), anode=replace(FULL.anode, cleaned_on=known)))
    withdraw(company, one)
    now = register(company)
    assert now.anode is not None
    assert (now.anode.cleaned_on, now.heater) == (known, None)


def test_a_thing_of_which_more_is_known_since_stays_there(company: Company) -> None:
    """The swap that was none proved the anode; meanwhile the office entered what is left of it."""
    set_register(company, replace(FULL, anode=None))
    one = visit(1, LATER, "anode-cleaning")
    enter(company, one)
    judged = Anode(None, LATER, 0.8, LATER)
    set_register(company, replace(register(company), anode=judged))
    withdraw(company, one)
    assert register(company).anode == replace(judged, cleaned_on=None)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_two_mistakes_taken_back_in_any_order_leave_nothing(
    company: Company, order: tuple[int, int]
) -> None:
    """The second was made upon the first: its memory must not bring that back."""
    both = visit(1, EARLIER, "cell-cleaning"), visit(2, LATER, "cell-cleaning")
    enter(company, *both)
    for n in order:
        withdraw(company, both[n])
    assert register(company) == FULL


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_what_was_built_upon_a_mistake_of_the_same_day_goes_with_it(
    company: Company, order: tuple[int, int]
) -> None:
    """Two at one pool on one day: a backwash that never was, and a pressure read after it.

    100 kPa would be the norm of a filter that nobody had cleaned.
    """
    read = [{"kind": "filter-pressure", "value": 100, "unit": "kPa"}]
    false, other = visit(1, LATER, "backwash"), visit(2, LATER, readings=read)
    enter(company, *[(false, other)[n] for n in order])
    withdraw(company, false)
    assert register(company) == FULL
    enter(company, visit(3, LATER, "backwash", readings=read))
    media = register(company).filter
    assert media is not None
    assert (media.cleaned_on, media.clean_kpa, media.clean_on) == (LATER, 100.0, LATER)


def test_of_two_cleanings_of_a_day_the_one_that_was_leaves_its_pressure(company: Company) -> None:
    """100 right after the first and 90 after the second: each by itself has the day's date."""
    psi = [[{"kind": "filter-pressure", "value": value, "unit": "kPa"}] for value in (100, 90)]
    both = [visit(n, LATER, "backwash", readings=psi[n - 1]) for n in (1, 2)]
    enter(company, *both)
    withdraw(company, both[0])
    media = register(company).filter
    assert media is not None
    assert (media.cleaned_on, media.clean_kpa, media.clean_on) == (LATER, 90.0, LATER)
    withdraw(company, both[1])
    assert register(company) == FULL


def test_new_covers_told_of_late_have_not_the_date_of_the_old(company: Company) -> None:
    """Looked at since, and the change comes in from a dead spot: its date is to be read there."""
    enter(company, visit(1, LATER, seen=["drain-covers-sound"]))
    late = visit(2, EARLIER, "drain-cover-change")
    enter(company, late)
    assert register(company).covers == DrainCovers(None, LATER, CoverState.SOUND)
    withdraw(company, late)
    assert register(company).covers == DrainCovers(date(2028, 5, 1), LATER, CoverState.SOUND)


def test_what_a_mistake_hid_counts_again(company: Company) -> None:
    """A true backwash, sent late, was older than the false one and changed nothing."""
    false, true = visit(1, LATER, "backwash"), visit(2, EARLIER, "backwash")
    enter(company, false)
    enter(company, true)
    withdraw(company, false)
    media = register(company).filter
    assert media is not None
    assert media.cleaned_on == EARLIER
    withdraw(company, true)
    assert register(company) == FULL


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_a_thing_that_mistakes_alone_told_of_goes_with_the_last(
    company: Company, order: tuple[int, int]
) -> None:
    """A pool without a cell would be asked for ever when its cell was last inspected."""
    set_register(company, Equipment())
    both = visit(1, EARLIER, "anode-cleaning", "cell-cleaning"), visit(2, LATER, "cell-inspection")
    enter(company, *both)
    withdraw(company, both[order[0]])
    assert register(company).salt_cell is not None
    assert (register(company).anode is None) == (order[0] == 0)
    withdraw(company, both[order[1]])
    assert register(company) == Equipment()


def test_a_clean_pressure_that_a_mistake_hid_counts_again(company: Company) -> None:
    """The false backwash of the week after showed nothing better, and kept the true one out."""
    psi = [{"kind": "filter-pressure", "value": value, "unit": "kPa"} for value in (140, 100)]
    false = visit(1, LATER, "backwash", readings=psi[:1])
    enter(company, false)
    enter(company, visit(2, EARLIER, "backwash", readings=psi[1:]))
    withdraw(company, false)
    media = register(company).filter
    assert media is not None
    assert (media.cleaned_on, media.clean_kpa, media.clean_on) == (EARLIER, 100.0, EARLIER)


def test_a_corrected_day_takes_its_upkeep_along(company: Company) -> None:
    """The backwash was at the visit, whichever day that turns out to have been.

    A day that was given for the upkeep itself stays: done the day before, told of at the visit.
    """
    one = visit(1, EARLIER, "backwash")
    eve = EARLIER - timedelta(days=1)
    one["upkeep"].append({"kind": "anode-cleaning", "on": str(eve)})
    enter(company, one)
    correct(company, one, day=LATER.isoformat())
    media, anode = register(company).filter, register(company).anode
    assert media is not None
    assert anode is not None
    assert (media.cleaned_on, anode.cleaned_on) == (LATER, eve)


def test_a_corrected_day_and_kind_move_the_register_along(company: Company) -> None:
    """Not the anode was swapped, its film was cleaned off, a week earlier."""
    one = visit(1, LATER, "anode-swap")
    enter(company, one)
    correct(company, one, day=EARLIER.isoformat(), upkeep=[{"kind": "anode-cleaning"}])
    assert FULL.anode is not None
    assert register(company).anode == replace(FULL.anode, cleaned_on=EARLIER)
    correct(company, one, upkeep=[{"kind": "anode-swap"}])  # and yet it was
    assert register(company).anode == Anode(EARLIER, None, 1.0, EARLIER)
    withdraw(company, one)
    assert register(company) == FULL


def test_a_record_of_before_its_moves_were_noted_changes_nothing_back(company: Company) -> None:
    """Nobody knows what was there; the phone says that the office must look."""
    one = visit(1, LATER, "backwash")
    enter(company, one)
    with company.writing() as session:
        session.execute(update(table_of(RecordRow)).values(moved=null()))  # as an upgrade does
    withdraw(company, one)
    media = register(company).filter
    assert media is not None
    assert media.cleaned_on == LATER


def test_facts_that_would_contradict_each_other_stay(company: Company) -> None:
    """A pressure without its day says nothing, so neither goes back alone."""
    moves = {"filter_clean_on": [None, str(LONG_AGO)]}
    with company.reading() as session:
        site = read_some_sites(session, ["S1"])["S1"]
    assert taken_back(site, moves) == site
