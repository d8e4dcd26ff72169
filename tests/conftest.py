"""Which database the tests run on.

Without `--database` they use SQLite, and those marked `both_databases` use PostgreSQL as well.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.databases import POSTGRESQL, SQLITE, in_use


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the whole set run on one kind of database."""
    parser.addoption(
        "--database",
        choices=(SQLITE, POSTGRESQL),
        help="kind of database that all tests use; by default SQLite, and both for some",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Declare the marks."""
    config.addinivalue_line("markers", "both_databases: run on SQLite and on PostgreSQL")
    config.addinivalue_line(
        "markers", "sqlite_only: about SQLite, or a process that knows no other"
    )


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
