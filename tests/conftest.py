"""Which database the tests run on, and in which order.

Without `--database` they use SQLite, and those marked `both_databases` use PostgreSQL as well.

Two workers take file by file from the list of tests, so what takes long stands at its head, and
folders whose files share something costly, as a browser, stay together.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.databases import POSTGRESQL, SQLITE, in_use

if TYPE_CHECKING:
    from tests.town import Company

FIRST = (
    "tests/api/jobs/test_compiling.py",  # compiles the search for everybody on a new machine,
    "tests/test_house.py",  # while the other worker does these, which need none of it
    "tests/sample_region/",
    "tests/drive/test_hierarchy.py",  # compiles the finding of ways for everybody
    "tests/browser/",
    "tests/api/jobs/",
    "tests/test_cli",
)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the whole set run on one kind of database."""
    parser.addoption(
        "--database",
        choices=(SQLITE, POSTGRESQL),
        help="kind of database that all tests use; by default SQLite, and both for some",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Declare the marks; let processes that tests start find byte code and not make it again."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    config.addinivalue_line("markers", "both_databases: run on SQLite and on PostgreSQL")
    config.addinivalue_line(
        "markers", "sqlite_only: about SQLite, or a process that knows no other"
    )


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put what takes long first."""
    items.sort(key=lambda item: _rank(item.nodeid))


def _rank(place: str) -> int:
    return next((n for n, start in enumerate(FIRST) if place.startswith(start)), len(FIRST))


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run the tests marked so twice."""
    marks = {mark.name for mark in metafunc.definition.iter_markers()}
    marked = "both_databases" in marks and "sqlite_only" not in marks
    if marked and metafunc.config.getoption("--database") is None:
        metafunc.parametrize("database", [SQLITE, POSTGRESQL], indirect=True, scope="function")


@pytest.fixture(autouse=True)
def database(request: pytest.FixtureRequest) -> Iterator[str]:
    """The kind of database that this test uses."""
    chosen = request.config.getoption("--database") or SQLITE
    kind = str(getattr(request, "param", chosen))
    if request.node.get_closest_marker("sqlite_only") is not None:
        kind = SQLITE
    with in_use(kind):
        yield kind


@pytest.fixture(scope="session")
def night_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a company with a published night shift; copied, never changed."""
    from tests.night_town import night_company

    folder = tmp_path_factory.mktemp("night")
    night_company(folder).engine.dispose()
    return folder


@pytest.fixture
def night(night_folder: Path, tmp_path: Path) -> Iterator[Company]:
    """That company, of the test's own."""
    from tests.night_town import night_copy

    company = night_copy(night_folder, tmp_path)
    yield company
    company.engine.dispose()
