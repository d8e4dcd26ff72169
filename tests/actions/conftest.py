from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from dispatch.actions.plan_week import plan_week
from tests.town import TODAY, WEEK, Company, build_town, fill_book, open_company


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


@pytest.fixture
def planned(company: Company) -> Company:
    """A company whose next week is planned."""
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
    return company
