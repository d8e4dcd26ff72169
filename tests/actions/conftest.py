from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import databases
from tests.town import Company, build_town, fill_book, open_company, planned_company


@pytest.fixture
def bare(tmp_path: Path) -> Iterator[Company]:
    """A company that has nothing yet."""
    company = open_company(tmp_path)
    yield company
    company.engine.dispose()


@pytest.fixture
def company(bare: Company, tmp_path: Path) -> Company:
    """A company with a street map and a full book."""
    build_town(bare, tmp_path)
    fill_book(bare)
    return bare


@pytest.fixture(scope="session")
def planned_folders() -> dict[str, Path]:
    """Folders of planned companies by the kind of their database."""
    return {}


@pytest.fixture
def planned_data(
    database: str, planned_folders: dict[str, Path], tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """Data of a company whose next week is planned; copied, never changed."""
    if database not in planned_folders:
        folder = tmp_path_factory.mktemp("planned")
        company = planned_company(folder)
        company.engine.dispose()
        planned_folders[database] = folder / "data"
    return planned_folders[database]


@pytest.fixture
def planned(planned_data: Path, tmp_path: Path) -> Iterator[Company]:
    """A company whose next week is planned, of the test's own."""
    shutil.copytree(planned_data, tmp_path / "data")
    databases.copy(planned_data, tmp_path / "data")
    company = open_company(tmp_path)
    yield company
    company.engine.dispose()
