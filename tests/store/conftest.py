from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from dispatch.settings import Settings
from dispatch.store.db import make_engine
from tests import databases


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """Settings of an installation that has nothing yet."""
    return Settings(data_dir=tmp_path / "data", **databases.where(tmp_path / "data"))


@pytest.fixture
def engine(settings: Settings) -> Iterator[Engine]:
    """An empty database in a file."""
    databases.make_ready(settings.data_dir)
    engine = make_engine(settings)
    yield engine
    engine.dispose()
