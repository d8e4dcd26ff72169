"""One thing at a time from the shell: holds, one-off work, deletions, findings."""

from __future__ import annotations

from pathlib import Path

import pytest

from dispatch.cli import run
from dispatch.settings import Settings
from tests.town import HOLDS_CSV, SITES_CSV, TECHNICIANS_CSV

WEEK = "2026-W49"


@pytest.fixture(autouse=True)
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full book without a street map."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"DISPATCH_{name.upper()}", raising=False)
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-25T23:59:59")
    monkeypatch.chdir(tmp_path)
    for noun, text in (
        ("technicians", TECHNICIANS_CSV),
        ("sites", SITES_CSV),
        ("holds", HOLDS_CSV),
    ):
        Path(f"{noun}.csv").write_text(text)
        assert run([noun, "import", f"{noun}.csv"]) == 0


def said(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    """What a command prints, on either stream."""
    capsys.readouterr()
    assert run(list(words)) == code
    told = capsys.readouterr()
    return told.out + told.err


def test_a_follow_up_is_added_listed_visited_and_deleted(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Noticed on Wednesday 25 November, it is due from Thursday to Saturday."""
    added = said(
        capsys, "one-offs", "add", "S1", "Look again", "--minutes", "20", "--kind", "follow-up"
    )
    assert "Added J1: Look again, from 2026-11-26 to 2026-11-28." in added
    assert "J1,S1,Look again,follow-up" in said(capsys, "one-offs", "list", "--csv")
    assert "J1 was visited on 2026-11-25; it is done." in said(capsys, "one-offs", "visited", "J1")
    assert "Deleted" in said(capsys, "one-offs", "delete", "J1")
    assert "no one-off work 'J1'" in said(capsys, "one-offs", "done", "J1", code=1)


def test_an_exported_list_can_be_taken_in_again(capsys: pytest.CaptureFixture[str]) -> None:
    """With the columns that `columns` explains."""
    said(capsys, "one-offs", "add", "S1", "Green", "--kind", "green-pool", "--minutes", "90;30")
    Path("work.csv").write_text(said(capsys, "one-offs", "list", "--csv"))
    assert "1 one-off." in said(capsys, "one-offs", "import", "work.csv")
    assert "days on which visits of it took place" in said(capsys, "one-offs", "columns")


def test_a_hold_is_added_ended_and_deleted(capsys: pytest.CaptureFixture[str]) -> None:
    """As the customer calls."""
    assert "no visits from 2026-12-21" in said(
        capsys, "holds", "add", "S2", "2026-12-21", "2027-01-03", "--reason", "away"
    )
    assert "ends on 2026-12-27" in said(capsys, "holds", "end", "S2", "2026-12-21", "2026-12-27")
    assert "Deleted" in said(capsys, "holds", "delete", "S2", "2026-12-21")


def test_sites_and_technicians_are_deleted(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing has been planned yet."""
    assert "Deleted: site S1." in said(capsys, "sites", "delete", "S1")
    assert "Deleted: technician T2." in said(capsys, "technicians", "delete", "T2")
    assert "no site 'S1'" in said(capsys, "sites", "delete", "S1", code=1)


def test_findings_are_listed_before_a_week_is_planned(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A job for three persons, where each truck has one."""
    said(
        capsys, "one-offs", "add", "S1", "Lift", "--minutes", "60", "--persons", "3",
        "--first", "2026-11-30", "--last", "2026-12-04",
    )  # fmt: skip
    found = said(capsys, "due", WEEK, "--list", "findings", "--csv")
    assert 'crew,Invented One (Lift),"it needs 3 persons, more than are aboard' in found
