from __future__ import annotations

from pathlib import Path

from sqlalchemy import text

from dispatch.actions.book import import_sites
from dispatch.actions.gate_codes import reveal, rotate_keys
from tests.town import fill_book, open_company

CODE = "Kx9#4711"  # long enough not to stand in a file by chance


def raw_bytes(folder: Path) -> bytes:
    """Every byte of the database and its log."""
    return b"".join(
        file.read_bytes() for file in sorted((folder / "data").glob("dispatch.sqlite*"))
    )


def test_the_files_of_the_database_hold_no_code(tmp_path: Path) -> None:
    """Whoever copies the file, or finds an old disk, has no gate open before him."""
    company = open_company(tmp_path)
    fill_book(company)
    with company.writing() as session:
        row = f"id,name,lat,lon,rhythm,service_min,gate_code\nS9,Nine,0,0.001,weekly,30,{CODE}\n"
        import_sites(session, company.settings, row)
    assert CODE.encode() not in raw_bytes(tmp_path)
    with company.reading() as session:
        assert reveal(session, company.settings, "S9") == CODE
    company.engine.dispose()


def test_codes_of_older_versions_are_sealed_and_leave_no_trace(tmp_path: Path) -> None:
    """They stood in the open; what SQLite has overwritten must not linger in its files either."""
    company = open_company(tmp_path)
    fill_book(company)
    with company.writing() as session:
        session.execute(text("UPDATE site SET gate_code = :code WHERE id = 'S1'"), {"code": CODE})
    company.engine.dispose()
    assert CODE.encode() in raw_bytes(tmp_path)

    company = open_company(tmp_path)

    assert CODE.encode() not in raw_bytes(tmp_path)
    with company.reading() as session:
        assert reveal(session, company.settings, "S1") == CODE
    company.engine.dispose()


def test_codes_are_entered_anew_after_the_key_was_lost(tmp_path: Path) -> None:
    """The words that tell of a lost key say to import the codes; then that must go."""
    company = open_company(tmp_path)
    fill_book(company)
    company.settings.gate_keys.unlink()
    table = "id,name,rhythm,service_min,gate_code\nS1,Invented One,weekly,30,{}\n"
    for code in ("", CODE):
        with company.writing() as session:
            import_sites(session, company.settings, table.format(code))
    with company.reading() as session:
        assert reveal(session, company.settings, "S1") == CODE
    company.engine.dispose()


def test_a_rotation_seals_every_code_with_the_new_key_alone(tmp_path: Path) -> None:
    """An old key that was copied somewhere must open nothing any more."""
    company = open_company(tmp_path)
    fill_book(company)
    old = company.settings.gate_keys.read_text()

    assert rotate_keys(company.engine, company.settings) == 1

    assert len(company.settings.gate_keys.read_text().split()) == 1
    assert company.settings.gate_keys.read_text() != old
    with company.reading() as session:
        assert reveal(session, company.settings, "S1") == "#11"
    company.engine.dispose()
