from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.cli import run as run_command
from tests.bench import worker_kill


def test_a_killed_worker_loses_nothing_and_nothing_is_done_twice(tmp_path: Path) -> None:
    """Two workers plan three branches on PostgreSQL; one is killed with a job in its hands."""
    outcome = worker_kill.run(tmp_path, branches=3, rounds=10_000)
    assert (outcome.done, outcome.with_the_same_plan, outcome.stored_once) == (3, 3, 3)
    assert outcome.begun_again >= 1


def test_workers_of_their_own_need_postgresql(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """On SQLite exactly one process may work, and that is the service."""
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path))
    assert run_command(["work"]) == 1
    assert "need PostgreSQL" in capsys.readouterr().err
