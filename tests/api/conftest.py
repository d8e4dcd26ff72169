from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests import databases
from tests.signed_in import signed_in_client
from tests.town import Company, open_company, planned_company


@pytest.fixture(scope="session")
def planned_folders() -> dict[str, Path]:
    """Folders of planned companies by the kind of their database."""
    return {}


@pytest.fixture
def planned_folder(
    database: str, planned_folders: dict[str, Path], tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """Folder of a company with a map, a full book and a planned week; copied, never changed."""
    if database not in planned_folders:
        folder = tmp_path_factory.mktemp("planned")
        company = planned_company(folder)
        company.engine.dispose()
        planned_folders[database] = folder
    return planned_folders[database]


@pytest.fixture
def planned(planned_folder: Path, tmp_path: Path) -> Iterator[Company]:
    """A planned company of the test's own."""
    shutil.copytree(planned_folder / "data", tmp_path / "data")
    databases.copy(planned_folder / "data", tmp_path / "data")
    company = open_company(tmp_path)
    yield company
    company.engine.dispose()


@pytest.fixture
def client(planned: Company) -> Iterator[TestClient]:
    """The service of a planned company, to be written to."""
    with signed_in_client(planned.settings, raises=False) as client:
        yield client


@pytest.fixture
def bare_client(tmp_path: Path) -> Iterator[TestClient]:
    """The service of a company that has nothing yet."""
    company = open_company(tmp_path)
    with signed_in_client(company.settings, raises=False) as client:
        yield client
    company.engine.dispose()


@pytest.fixture
def reader(planned_folder: Path) -> Iterator[TestClient]:
    """The service of a planned company that all tests share, for those that only read."""
    company = open_company(planned_folder)
    with signed_in_client(company.settings, raises=False) as client:
        yield client
    company.engine.dispose()
