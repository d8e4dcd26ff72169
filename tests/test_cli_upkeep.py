"""Upkeep from the shell: its table, its weeks, its forecasts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from dispatch.cli import run
from dispatch.settings import Settings
from tests.town import SITES_CSV, TECHNICIANS_CSV


@pytest.fixture(autouse=True)
def filled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full book in a folder of its own; no map is needed."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"DISPATCH_{name.upper()}", raising=False)
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-25T23:59:59")
    monkeypatch.chdir(tmp_path)
    for name, text in (("technicians", TECHNICIANS_CSV), ("sites", SITES_CSV)):
        Path(f"{name}.csv").write_text(text)
        assert run([name, "import", f"{name}.csv"]) == 0


def rows(capsys: pytest.CaptureFixture[str], *words: str) -> list[dict[str, object]]:
    capsys.readouterr()
    assert run(["upkeep", *words, "--json"]) == 0
    found: list[dict[str, object]] = json.loads(capsys.readouterr().out)
    return found


def test_a_kind_is_changed_and_taken_back(capsys: pytest.CaptureFixture[str]) -> None:
    """The list shows what was set."""
    assert run(["upkeep", "set", "sand-change", "minutes=120", "months=10-2"]) == 0
    kinds = {row["kind"]: row for row in rows(capsys, "list")}
    assert kinds["sand-change"]["minutes"] == "120"
    assert kinds["sand-change"]["months"] == "1;2;10;11;12"
    assert run(["upkeep", "reset", "sand-change"]) == 0
    kinds = {row["kind"]: row for row in rows(capsys, "list")}
    assert kinds["sand-change"]["minutes"] == "150"


@pytest.mark.parametrize(
    ("change", "what"),
    [("minutes", "write FIELD=VALUE"), ("minutes=soon", "whole number"), ("hue=1", "no field")],
)
def test_a_slip_is_told_and_nothing_kept(
    change: str, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """With the mend, on the error stream."""
    assert run(["upkeep", "set", "sand-change", change]) == 1
    assert what in " ".join(capsys.readouterr().err.split())


def test_upkeep_is_spread_and_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """First there is nothing; then the sand of S2 has its week, and the bound is told."""
    assert run(["upkeep", "weeks"]) == 1
    assert "\nCommand: dispatch upkeep level\n" in capsys.readouterr().err
    assert run(["upkeep", "level", "--weeks", "26"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("1 upkeep set for 26 weeks from 2026-W49 on")
    assert "none can cost less than" in said
    (slot,) = rows(capsys, "weeks")
    assert slot["upkeep"] == "Sand change"
    assert len(rows(capsys, "year")) == 52
    assert rows(capsys, "forecast")[0]["site_id"] == "S2"
    assert run(["upkeep", "level", "--weeks", "99"]) == 1
