from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from api.app import create_app
from dispatch.actions.plan_week import plan_week
from tests.town import TODAY, WEEK, Company, build_town, fill_book, open_company


@pytest.fixture(scope="session")
def planned_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a company with a map, a full book and a planned week; copied, never changed."""
    folder = tmp_path_factory.mktemp("planned")
    company = open_company(folder)
    build_town(company, folder)
    fill_book(company)
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    company.engine.dispose()
    return folder


@pytest.fixture
def planned(planned_folder: Path, tmp_path: Path) -> Iterator[Company]:
    """A planned company of the test's own."""
    shutil.copytree(planned_folder / "data", tmp_path / "data")
    company = open_company(tmp_path)
    yield company
    company.engine.dispose()


@pytest.fixture
def client(planned: Company) -> Iterator[TestClient]:
    """The service of a planned company, to be written to."""
    with TestClient(create_app(planned.settings), raise_server_exceptions=False) as client:
        yield client


@pytest.fixture
def bare_client(tmp_path: Path) -> Iterator[TestClient]:
    """The service of a company that has nothing yet."""
    company = open_company(tmp_path)
    with TestClient(create_app(company.settings), raise_server_exceptions=False) as client:
        yield client
    company.engine.dispose()


@pytest.fixture
def reader(planned_folder: Path) -> Iterator[TestClient]:
    """The service of a planned company that all tests share, for those that only read."""
    company = open_company(planned_folder)
    with TestClient(create_app(company.settings), raise_server_exceptions=False) as client:
        yield client
    company.engine.dispose()
