from __future__ import annotations

from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.off_street import DEPOTS, SITES, off_street
from tests.actions.test_maps import FAR_SITE, FAR_TECHNICIAN
from tests.town import Company

FAR_YARD = "id,name,start_lat,start_lon,mon\nT8,Invented Dan,0.02,0.001,07:00-15:00\n"


def test_a_book_on_the_streets_has_nothing_to_tell(company: Company) -> None:
    """Three pools and two yards, all beside a street."""
    with company.reading() as session:
        assert off_street(session, company.settings) == {}


def test_each_place_off_the_streets_is_told_with_its_distance(company: Company) -> None:
    """0.02 degrees north of the street are 2.2 km; who knows it before Monday can mend it."""
    with company.writing() as session:
        import_sites(session, company.settings, FAR_SITE)
        import_technicians(session, company.settings, FAR_TECHNICIAN)
        told = off_street(session, company.settings)
        assert set(off_street(session, company.settings, SITES)) == {"site:S9"}
        assert set(off_street(session, company.settings, DEPOTS)) == {"end:T9"}
    assert set(told) == {"site:S9", "end:T9"}
    assert told["site:S9"].startswith("Site S9 at 0.02000, 0.00100 is 2.2 km from the nearest")
    assert told["end:T9"].startswith("The end of T9 at")


def test_a_yard_where_the_day_starts_and_ends_is_told_once(company: Company) -> None:
    """One mistake, one sentence."""
    with company.writing() as session:
        import_technicians(session, company.settings, FAR_YARD)
        assert set(off_street(session, company.settings)) == {"start:T8"}


def test_without_a_map_nothing_is_told(bare: Company) -> None:
    """Before the map is built every place would be off it."""
    with bare.writing() as session:
        import_sites(session, bare.settings, FAR_SITE)
        assert off_street(session, bare.settings) == {}


def test_a_damaged_map_keeps_nobody_from_importing(company: Company) -> None:
    """The warning is beside the point of an import, and must not undo it."""
    for file in company.settings.map_dir.glob("*.npz"):
        file.write_bytes(b"broken")
    with company.writing() as session:
        import_sites(session, company.settings, FAR_SITE)
        assert off_street(session, company.settings) == {}
