"""The sample region, written once for all tests of it."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest

import sample_region
from sample_region.terrain import TownSize
from sample_region.town import Town, draw_town
from tests.sample_region.region_file import RegionFile, read_region

AS_OF = date(2026, 11, 25)  # a Wednesday


@pytest.fixture(scope="package")
def folder(town: Town, tmp_path_factory: pytest.TempPathFactory) -> Path:
    written = tmp_path_factory.mktemp("region")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sample_region.folder.draw_town", lambda _size: town)
        sample_region.write(written, AS_OF)
    return written


@pytest.fixture(scope="package")
def region(folder: Path) -> RegionFile:
    return read_region(folder / "streets.osm.pbf")


@pytest.fixture(scope="package")
def town() -> Town:
    return draw_town(TownSize())


@pytest.fixture(scope="package")
def tables(folder: Path) -> dict[str, list[dict[str, str]]]:
    found = {}
    for name in ("sites", "technicians", "holds"):
        with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as table:
            found[name] = list(csv.DictReader(table))
    return found
