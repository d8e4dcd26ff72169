"""Sites near an address, and the streets that sites are served from.

House 2 stands at a fifth of the street ab of 425 m, 85 m from its beginning; S1 lies 111.2 m and S2
222.4 m from there (0.001 and 0.002 degrees), so 26 m and 137 m on. At 40 km/h: 2.4 s and 12.4 s.
"""

from __future__ import annotations

import pytest

from dispatch.actions.book import import_sites
from dispatch.actions.reach import site_streets, sites_within, street_list, within_list
from dispatch.errors import AddressNotFound, InvalidValue, NoMap
from tests.town import Company

FAR_SITE = "id,name,lat,lon,rhythm,service_min\nS9,Invented Far,0.02,0.001,weekly,30\n"


def test_sites_near_an_address_come_nearest_first(company: Company) -> None:
    """The typing error is forgiven, as everywhere that addresses are asked for."""
    with company.reading() as session:
        found = sites_within(session, company.settings, "2 ab streeet", 20)
        everything = sites_within(session, company.settings, "2 ab street", 120)
    assert [(one.site_id, one.drive_s) for one in found.sites] == [("S1", 2), ("S2", 12)]
    assert [one.drive_m for one in found.sites] == pytest.approx([26, 137], abs=1)
    assert found.street == "ab street"
    assert found.detour_m == pytest.approx(10, abs=0.1)
    assert [one.site_id for one in everything.sites] == ["S1", "S2", "S3"]
    assert within_list(found).rows[1][:3] == ("S2", "Invented Two", 0.2)


def test_factors_slow_the_drives_to_near_sites_too(company: Company) -> None:
    """At twice the time S2 is 24 s away: within 24 s, not within 23 s."""
    company.settings.factors_file.write_text(
        '{"elsewhere": {"morning": 2, "midday": 2, "school end": 2}}'
    )
    with company.reading() as session:
        near, nearer = (
            sites_within(session, company.settings, "2 ab street", limit_s).sites
            for limit_s in (24, 23)
        )
    assert [(one.site_id, one.drive_s) for one in near] == [("S1", 4), ("S2", 24)]
    assert [one.site_id for one in nearer] == ["S1"]


def test_a_site_off_the_streets_is_told_and_not_left_out_in_silence(company: Company) -> None:
    """0.02 degrees are 2.2 km."""
    with company.writing() as session:
        import_sites(session, company.settings, FAR_SITE)
        found = sites_within(session, company.settings, "2 ab street", 600)
        rows = site_streets(session, company.settings)
    assert "2.2 km" in found.no_drive["S9"]
    assert [(one.site_id, one.street) for one in rows] == [
        ("S1", "ab street"), ("S2", "ab street"), ("S3", "ef street"), ("S9", "")
    ]  # fmt: skip
    assert rows[2].detour_m == pytest.approx(0.1, abs=0.05)  # 0.0009 degrees are 100.1 m
    assert street_list(rows).rows[3][3] is None
    assert "2.2 km" in rows[3].problem


def test_what_cannot_be_asked_is_told(company: Company, bare: Company) -> None:
    """An address that nobody knows, a time that is none."""
    with company.reading() as session:
        with pytest.raises(AddressNotFound):
            sites_within(session, company.settings, "7 Nowhere Road", 60)
        with pytest.raises(InvalidValue, match="-60 s"):
            sites_within(session, company.settings, "2 ab street", -60)


def test_without_a_map_its_command_is_named(bare: Company) -> None:
    """A newcomer's first question."""
    with bare.reading() as session, pytest.raises(NoMap) as told:
        sites_within(session, bare.settings, "2 ab street", 60)
    assert told.value.command.startswith("dispatch map build")
