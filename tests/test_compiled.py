"""Compiled code is never older than the sources it was made from."""

from __future__ import annotations

import inspect
from pathlib import Path

import pytest

from dispatch.compiled import cache_folder
from dispatch.planning import routes, walk
from tests.test_house import ROOT


def test_a_change_in_any_source_begins_a_new_folder(tmp_path: Path) -> None:
    """Otherwise the caller in one file would go on running the old callee of another."""
    caller, callee = tmp_path / "caller.py", tmp_path / "callee.py"
    caller.write_text("one")
    callee.write_text("two")
    before = cache_folder([caller, callee])
    assert cache_folder([caller, callee]) == before
    callee.write_text("three")
    assert cache_folder([caller, callee]) != before


def test_the_cache_can_be_moved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine whose home cannot be written names another folder."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert cache_folder([]).parent == tmp_path


def test_every_file_with_compiled_code_of_the_search_counts() -> None:
    """A kernel in a file that the folder's name does not depend on could run stale."""
    room = ROOT / "dispatch" / "planning"
    users = {one.stem for one in room.glob("*.py") if "\n@compiled\n" in one.read_text()}
    declared = inspect.getsource(routes) + inspect.getsource(walk)
    assert users
    assert [name for name in users if f'"{name}"' not in declared] == []
