from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.actions.book import (
    holds,
    import_holds,
    import_sites,
    import_technicians,
    sites,
    technicians,
)
from dispatch.actions.gate_codes import reveal
from dispatch.actions.lists import as_csv, hold_list, site_list, technician_list
from dispatch.actions.table_import import Noun, try_table
from dispatch.errors import ImportRejected, InvalidValue, NoMap
from tests.town import HOLDS_CSV, SITES_CSV, TECHNICIANS_CSV, Company, build_town, open_company

BY_ADDRESS = "id,name,address,rhythm,service_min\nS7,Invented Seven,10 ab street,weekly,30\n"


def test_an_import_tells_how_many_rows_it_took_in(bare: Company) -> None:
    """The number is what people compare with their list."""
    with bare.writing() as session:
        assert import_technicians(session, bare.settings, TECHNICIANS_CSV) == 2
        assert import_sites(session, bare.settings, SITES_CSV) == 3
        assert import_holds(session, bare.settings, HOLDS_CSV) == 1


def test_one_bad_row_keeps_everything_out(company: Company) -> None:
    """Half a table is worse than none, because nobody knows which half."""
    with company.reading() as session:
        before = sites(session)
    text = SITES_CSV.replace("Invented One", "Renamed").replace("weekly,45", "sometimes,45")

    def take_in() -> None:
        with company.writing() as session:
            import_sites(session, company.settings, text)

    with pytest.raises(ImportRejected) as caught:
        take_in()
    assert len(caught.value.problems) == 1
    with company.reading() as session:
        assert sites(session) == before


def test_a_row_too_long_for_the_database_keeps_everything_out(company: Company) -> None:
    """The limit of a column is met only when rows are written, after good ones."""
    text = TECHNICIANS_CSV.replace("Invented Alma", "Renamed").replace(
        "Invented Ben", "Invented " + "x" * 300
    )

    def take_in() -> None:
        with company.writing() as session:
            import_technicians(session, company.settings, text)

    with company.reading() as session:
        before = technicians(session)
    with pytest.raises(InvalidValue, match="at most 200 characters"):
        take_in()
    with company.reading() as session:
        assert technicians(session) == before


def test_a_hold_of_an_unknown_site_is_refused(company: Company) -> None:
    """A slip in the id would else leave a customer without the hold that was agreed."""
    text = "site_id,first_day,last_day\nS77,2026-12-01,2026-12-02\n"
    with company.writing() as session, pytest.raises(ImportRejected):
        import_holds(session, company.settings, text)


def test_holds_that_come_back_without_their_reasons_keep_them(company: Company) -> None:
    """Days moved in a short table must not lose why; an empty cell of the column still empties."""

    def reason_after(text: str) -> str:
        with company.writing() as session:
            import_holds(session, company.settings, text)
            (hold,) = (one for one in holds(session) if one.site_id == "S2")
            return f"{hold.last_day} {hold.reason}"

    head, row = "site_id,first_day,last_day", "S2,2026-12-01,2026-12"
    assert reason_after(f"{head},reason\n{row}-10,away\n") == "2026-12-10 away"
    assert reason_after(f"{head}\n{row}-12\n") == "2026-12-12 away"
    assert reason_after(f"{head},reason\n{row}-12,\n") == "2026-12-12 "


def test_a_usual_technician_nobody_knows_is_refused_once_there_are_any(company: Company) -> None:
    """Sites may come before technicians, but a slip in an id should show."""
    text = "id,name,lat,lon,rhythm,service_min,usual_technician\nS9,Nine,0,0.001,weekly,30,T77\n"
    with company.writing() as session, pytest.raises(ImportRejected) as caught:
        import_sites(session, company.settings, text)
    assert "T77" in str(caught.value.problems[0])


def test_an_address_is_found_on_the_map(company: Company) -> None:
    """House 10 was drawn at 0.6 of the 425 m of its street: 255 m east, 0.002293 degrees."""
    with company.writing() as session:
        import_sites(session, company.settings, BY_ADDRESS)
        found = {site.id: site.place for site in sites(session)}["S7"]
    assert found.lon == pytest.approx(0.002293, abs=1e-5)


def test_an_address_without_a_map_asks_for_the_map(bare: Company) -> None:
    """Rows with places need none."""
    with bare.writing() as session:
        import_sites(session, bare.settings, SITES_CSV)
        with pytest.raises(NoMap):
            import_sites(session, bare.settings, BY_ADDRESS)


def test_exported_tables_can_be_taken_in_again(company: Company, tmp_path: Path) -> None:
    """A list is changed in a spreadsheet and comes back; what was not changed must not change."""
    with company.reading() as session:
        book = sites(session), technicians(session), holds(session)
    tables = (
        as_csv(site_list(book[0])),
        as_csv(technician_list(book[1])),
        as_csv(hold_list(book[2])),
    )
    with company.writing() as session:
        import_technicians(session, company.settings, tables[1])
        import_sites(session, company.settings, tables[0])
        import_holds(session, company.settings, tables[2])
        assert (sites(session), technicians(session), holds(session)) == book
    other = open_company(tmp_path / "other")
    build_town(other, tmp_path)
    with other.writing() as session:
        import_technicians(session, other.settings, tables[1])
        assert technicians(session) == book[1]


def test_a_gate_code_that_is_over_is_taken_away(company: Company) -> None:
    """The lock is gone, or the customer is: nobody may have to keep the code for ever."""
    text = "id,name,rhythm,service_min,gate_code\nS1,Invented One,weekly,45,{}\n"

    def code_after(cell: str) -> tuple[int, str]:
        with company.writing() as session:
            tried = try_table(session, company.settings, Noun.SITES, text.format(cell), None)
            import_sites(session, company.settings, text.format(cell))
            return len(tried.changed), reveal(session, company.settings, "S1")

    assert code_after("99#") == (1, "99#")
    assert code_after("") == (0, "99#")
    assert code_after("-") == (1, "")
    assert code_after("None") == (0, "")


def test_gate_codes_are_not_exported_and_not_lost(company: Company) -> None:
    """A table travels by mail; taking it in again must not wipe out the codes."""
    with company.writing() as session:
        table = as_csv(site_list(sites(session)))
        assert "#11" not in table
        import_sites(session, company.settings, table)
        assert reveal(session, company.settings, "S1") == "#11"
        import_sites(session, company.settings, SITES_CSV.replace("#11", "#12"))
        assert reveal(session, company.settings, "S1") == "#12"
