from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.actions.book import import_sites, import_technicians
from dispatch.actions.maps import build_map, drive_matrix_for, road_map
from dispatch.errors import NoMap, OffStreet, UnreadableMap
from dispatch.measures import measured
from tests.drive.drawing import roads
from tests.town import Company, drawn_town

FAR_SITE = "id,name,lat,lon,rhythm,service_min\nS9,Invented Far,0.02,0.001,weekly,30\n"
FAR_TECHNICIAN = (
    "id,name,start_lat,start_lon,end_lat,end_lon,mon\n"
    "T9,Invented Cora,0,0.001,0.02,0.001,07:00-15:00\n"
)


def test_a_map_is_read_once_until_it_is_built_again(company: Company, tmp_path: Path) -> None:
    """Reading takes a while; an old map after a new build would be wrong."""
    first = road_map(company.settings)
    assert road_map(company.settings) is first
    build_map(company.settings, roads("a---b---c").write(tmp_path))
    assert road_map(company.settings).digest != first.digest


def test_without_a_map_the_command_that_builds_one_is_named(bare: Company) -> None:
    """It is the first thing that everybody runs into."""
    with pytest.raises(NoMap, match="build one") as told:
        road_map(bare.settings)
    assert told.value.command.startswith("dispatch map build")


def test_a_failed_build_leaves_the_old_map(company: Company, tmp_path: Path) -> None:
    """A broken download must not cost the company its map."""
    before = road_map(company.settings).digest
    broken = tmp_path / "broken.osm.pbf"
    broken.write_bytes(b"not a map")
    with pytest.raises(UnreadableMap):
        build_map(company.settings, broken)
    assert road_map(company.settings).digest == before


def test_the_summary_counts_the_streets(bare: Company, tmp_path: Path) -> None:
    """Four streets of 425 m (17 characters of 25 m) and three of 100 m make 2.0 km."""
    summary = build_map(bare.settings, drawn_town().write(tmp_path))
    assert summary.street_km == pytest.approx(4 * 0.425 + 3 * 0.1, abs=0.01)
    assert summary.addresses == 2


def test_drive_times_name_sites_and_depots(company: Company) -> None:
    """Planning finds places by these names."""
    with company.reading() as session:
        times = drive_matrix_for(session, company.settings)
    assert times.matrix.ids == ("end:T1", "end:T2", *("site:S1", "site:S2", "site:S3"), "start:T1",
                                "start:T2")  # fmt: skip
    # S1 to S2 is 0.001 degrees along one street: 111.2 m, 10 s at 40 km/h.
    drive_s, drive_m = times.matrix.drive("site:S1", "site:S2")
    assert drive_m == pytest.approx(111, abs=1)
    assert drive_s >= 10
    assert times.no_drive == {}


def test_what_a_company_set_slows_its_drives(company: Company) -> None:
    """1.5 all day everywhere: half as long again, to the second that rounding leaves."""
    with company.reading() as session:
        free = drive_matrix_for(session, company.settings).matrix
        company.settings.factors_file.write_text(
            '{"elsewhere": {"morning": 1.5, "midday": 1.5, "school end": 1.5}}'
        )
        slow = drive_matrix_for(session, company.settings).matrix
    assert abs(slow.drive_s - free.drive_s * 1.5).max() <= 0.5
    assert free.drive_s.max() > 0
    assert (slow.drive_m == free.drive_m).all()


def test_a_site_off_the_streets_blocks_nobody_else(company: Company) -> None:
    """One wrong place must not cost a company its week."""
    with company.writing() as session:
        import_sites(session, company.settings, FAR_SITE)
        times = drive_matrix_for(session, company.settings)
    assert "site:S1" in times.matrix.ids
    assert "site:S9" not in times.matrix.ids
    assert list(times.no_drive) == ["site:S9"]
    assert "2.2 km" in measured(times.no_drive["site:S9"])  # 0.02 degrees of 111.2 km


def test_a_depot_off_the_streets_is_an_error_that_names_the_technician(company: Company) -> None:
    """A technician who silently drops out of the week would be missed on Monday only."""
    with company.writing() as session:
        import_technicians(session, company.settings, FAR_TECHNICIAN)
    with (
        company.reading() as session,
        pytest.raises(OffStreet, match=r"Technician T9 \(Invented Cora\) cannot end the day there"),
    ):
        drive_matrix_for(session, company.settings)
