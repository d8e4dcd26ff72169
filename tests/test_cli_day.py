"""The day from the shell."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from dispatch.cli import run
from dispatch.settings import Settings
from tests.town import planned_company


@pytest.fixture(autouse=True)
def planned(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A planned week in a folder of its own."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"DISPATCH_{name.upper()}", raising=False)
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-25T23:59:59")
    monkeypatch.setenv("DISPATCH_COUNTRY", "")
    company = planned_company(tmp_path)
    company.engine.dispose()


def rows(capsys: pytest.CaptureFixture[str], *words: str) -> list[dict[str, str]]:
    capsys.readouterr()
    assert run(["day", *words, "--csv"]) == 0
    return list(csv.DictReader(io.StringIO(capsys.readouterr().out)))


def test_a_day_is_published_repaired_and_looked_back_on(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The same actions as on the page, with lists to keep."""
    assert run(["day", "publish", "2026-W49"]) == 0
    assert [row["state"] for row in rows(capsys, "show", "2026-11-30")] == ["planned"] * 3
    out = ("2026-11-30", "--out", "T2", "--at", "07:00")
    options = {row["key"]: row for row in rows(capsys, "repair", *out)}
    assert options["keep-order"]["changed"] == "T1; T2"
    assert run(["day", "repair", *out]) == 0
    shown = capsys.readouterr().out
    assert "Invented Ben is out" in shown
    assert "Nobody's order changes (--take keep-order)" in shown
    assert "New time or day: Invented Three: 07:00 to " in shown
    assert "T2" not in shown
    assert run(["day", "repair", *out, "--take", "no-such"]) == 1
    assert run(["day", "repair", *out, "--take", "keep-order", "--who", "Ada"]) == 0
    history = rows(capsys, "history", "2026-11-30")
    assert [(row["kind"], row["who"]) for row in history][-1] == ("repaired", "Ada")
    now = rows(capsys, "show", "2026-11-30")
    assert {row["technician"] for row in now} == {"T1"}
    before = rows(capsys, "show", "2026-11-30", "--number", "2")
    assert {row["technician"] for row in before} == {"T1", "T2"}
    assert run(["day", "alarms", "2026-11-30"]) == 0


def test_a_week_that_breaks_a_rule_is_published_when_somebody_says_anyway(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A script goes on as ever while nothing is wrong, and stops where something is."""
    assert run(["week", "move", "2026-W49", "S2/2026-W49/1", "T2", "2026-11-30"]) == 0
    assert run(["day", "publish", "2026-11-30"]) == 1
    assert "Invented Ben lacks the skill 'media'" in " ".join(capsys.readouterr().err.split())
    assert run(["day", "publish", "2026-W49"]) == 1
    assert "1 point should be put right" in " ".join(capsys.readouterr().err.split())
    assert run(["day", "publish", "2026-W49", "--anyway"]) == 0
    assert "2026-11-30: T1 (1), T2 (1)" in capsys.readouterr().out


def test_two_things_at_once_and_areas_that_are_none_are_refused(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A sentence with the mend instead of a guess."""
    assert run(["day", "publish", "2026-11-30"]) == 0
    assert run(["day", "repair", "2026-11-30", "--out", "T1", "--late", "T2"]) == 1
    assert "one thing" in " ".join(capsys.readouterr().err.split())
    assert run(["day", "repair", "2026-11-30", "--closed", "here"]) == 1
    assert "LAT" not in capsys.readouterr().out


def test_a_customers_link_is_made_for_a_planned_visit(capsys: pytest.CaptureFixture[str]) -> None:
    """An address alone, to be piped on; a visit that is not of the day gets none."""
    assert run(["visit-link", "S1/2026-W49/1", "--day", "2026-11-30"]) == 0
    assert capsys.readouterr().out.startswith("/visit/")
    assert run(["visit-link", "S1/2026-W49/1", "--day", "2026-12-01"]) == 1
