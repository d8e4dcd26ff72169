from __future__ import annotations

import os
import time
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from dispatch.actions.book import import_sites, import_technicians, sites, technicians
from dispatch.actions.export_all import as_xlsx
from dispatch.actions.lists import as_csv, site_list
from dispatch.actions.table_import import (
    Noun,
    Tried,
    drop_upload,
    keep_choice,
    keep_upload,
    match_columns,
    problem_list,
    read_upload,
    take_in_table,
    try_table,
)
from dispatch.actions.take_in import take_in_record
from dispatch.errors import NotFound
from dispatch.intake.workbook import read_any
from dispatch.sites import Site
from tests.records.samples import content
from tests.town import Company

THEIRS = "Account;Customer;Street;Frequency;Minutes\nS1;Renamed One;;weekly;35\n\
S9;Invented Nine;2 ab street;weekly;20\n"


def book_of(company: Company) -> dict[str, Site]:
    """The sites by id."""
    with company.reading() as session:
        return {site.id: site for site in sites(session)}


def tried(company: Company, text: str, *, take: bool = False) -> Tried:
    """What a table with guessed columns would do, or does."""
    chosen = [one.column for one in match_columns(Noun.SITES, text)]
    with company.writing() as session:
        go = take_in_table if take else try_table
        return go(session, company.settings, Noun.SITES, text, chosen)


def test_a_missing_column_leaves_what_is_there_and_an_empty_cell_empties(company: Company) -> None:
    """An old table must not wipe what was entered since."""
    before = book_of(company)["S2"]
    with company.writing() as session:
        text = "id,name,rhythm,service_min,dog\nS2,Invented Two,weekly,50,\n"
        import_sites(session, company.settings, text)
    after = book_of(company)["S2"]
    assert after.plan.service_min == 50
    assert after.dog_note == "" != before.dog_note
    assert after.place == before.place
    assert after.equipment == before.equipment
    assert after.plan.usual_technician_id == "T1"


def test_a_list_written_before_a_visit_does_not_undo_it(company: Company) -> None:
    """Exported on Friday, priced over the weekend: Monday's sand must not fall due once more."""
    with company.reading() as session:
        friday = as_csv(site_list(sites(session)))
    visit: dict[str, Any] = {"day": "2026-11-25", "arrived_at": "2026-11-25T16:00:00Z"}
    visit |= {"left_at": "2026-11-25T18:00:00Z", "upkeep": [{"kind": "sand-change"}]}
    with company.writing() as session:
        take_in_record(session, company.settings, content(site_id="S2", **visit))
    moved = book_of(company)["S2"]
    assert moved.plan.last_visit_on == date(2026, 11, 25)

    assert tried(company, friday).changed == ()
    assert tried(company, friday.replace(",45,", ",50,"), take=True).changed == ("S2",)
    after = book_of(company)["S2"]
    assert after == replace(moved, plan=replace(moved.plan, service_min=50))

    typed = friday.replace("2021-06-01", "2022-01-01")
    assert tried(company, typed, take=True).changed == ("S2",)
    media = book_of(company)["S2"].equipment.filter
    assert media is not None
    assert media.media_changed_on == date(2022, 1, 1)


def test_a_new_address_is_looked_up_anew(company: Company) -> None:
    """The place of the old address would send the truck there."""
    with company.writing() as session:
        text = "id,name,address,rhythm,service_min\nS1,Invented One,10 ab street,weekly,30\n"
        import_sites(session, company.settings, text)
    assert book_of(company)["S1"].place.lon == pytest.approx(0.6 * 0.003597, abs=2e-4)


def test_technicians_keep_what_their_table_does_not_say(company: Company) -> None:
    """Skills and days off of Alma stay."""
    with company.writing() as session:
        before = technicians(session)[0]
        import_technicians(session, company.settings, "id,name,mon\nT1,Alma,08:00-12:00\n")
        after = technicians(session)[0]
    assert (after.name, after.skills, after.days_off) == ("Alma", before.skills, before.days_off)
    assert after.shifts[1:] == before.shifts[1:] != after.shifts[:1]


def test_a_dry_run_tells_what_would_come_and_stores_nothing(company: Company) -> None:
    """Somebody else's headings: one site changes, one is new."""
    before = book_of(company)
    found = tried(company, THEIRS)
    assert (found.new, found.changed, found.problems) == (("S9",), ("S1",), ())
    assert book_of(company) == before

    assert tried(company, THEIRS, take=True) == found
    assert book_of(company)["S9"].name == "Invented Nine"
    assert tried(company, THEIRS).same == 2


def test_a_new_gate_code_alone_is_told_as_a_change(company: Company) -> None:
    """S1 has #11; whoever sends the codes of a year must not be told that nothing changes."""
    text = "id,name,rhythm,service_min,gate_code\nS1,Invented One,weekly,30,{}\n"
    for code, changed in (("#11", ()), ("", ()), ("#4711", ("S1",))):
        assert tried(company, text.format(code)).changed == changed, code


def test_what_is_wrong_is_a_report_with_line_column_value_and_mend(company: Company) -> None:
    """Nothing is taken in; the lines are those of the file."""
    text = THEIRS.replace("weekly;20", "sometimes;20").replace(";35", ";many")
    found = tried(company, text, take=True)
    report = problem_list(found.problems)
    assert report.columns == ("line", "column", "value", "wrong", "mend")
    assert [row[:3] for row in report.rows] == [
        (2, "service_min", "many"),
        (3, "rhythm", "sometimes"),
    ]
    assert all(row[4] for row in report.rows)
    assert "S9" not in book_of(company)


def test_an_upload_waits_for_its_next_step_for_a_day(company: Company) -> None:
    """And no longer: it holds customers' names."""
    name = keep_upload(company.settings, THEIRS)
    assert read_upload(company.settings, name) == (THEIRS, None)
    keep_choice(company.settings, name, ["id"])
    assert read_upload(company.settings, name)[1] == ["id"]
    old = time.time() - 2 * 24 * 3600
    for file in (company.settings.data_dir / "imports").iterdir():
        os.utime(file, (old, old))
    other = keep_upload(company.settings, THEIRS)
    for gone in (name, "../dispatch.sqlite", "0" * 32):
        with pytest.raises(NotFound, match="upload it again"):
            read_upload(company.settings, gone)
    drop_upload(company.settings, other)
    with pytest.raises(NotFound):
        read_upload(company.settings, other)


def test_an_exported_workbook_comes_back_as_it_was(company: Company) -> None:
    """7,500 US gallons are 28390.588379999997 litres; without the last digit it is another pool."""
    with company.writing() as session:
        text = "id,name,rhythm,service_min,pool_volume_gal\nS2,Invented Two,weekly,50,7500\n"
        import_sites(session, company.settings, text)
    with company.reading() as session:
        workbook = as_xlsx({"sites": site_list(sites(session))})
    found = tried(company, read_any(workbook))
    assert (found.new, found.changed, found.same) == ((), (), 3)
