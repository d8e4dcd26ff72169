from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from dispatch.actions.day import publish_day
from dispatch.actions.site_contact import set_contact
from dispatch.contacts import NoticeWish
from dispatch.day.moments import moment_of
from tests import databases
from tests.mail_server import MailServer
from tests.town import MONDAY, Company, build_town, fill_book, open_company, planned_company


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


@pytest.fixture
def published(planned: Company) -> Company:
    """A company whose Monday is published: T1 has S1 and S2, T2 has S3."""
    six = moment_of(MONDAY, 6 * 3600, planned.settings.zone)
    with planned.writing() as session:
        publish_day(session, planned.settings, MONDAY, who="Ada", at=six)
    return planned


@pytest.fixture
def told(planned: Company) -> Company:
    """A company that sends mail, its Monday published, its customer S1 wishing everything."""
    company = replace(planned, settings=MailServer(9).told(planned.settings))
    noon = moment_of(MONDAY - timedelta(days=1), 12 * 3600, company.settings.zone)
    with company.writing() as session:
        publish_day(session, company.settings, MONDAY, who="Ada", at=noon)
        set_contact(session, "S1", "one@example.org", list(NoticeWish))
    return company
