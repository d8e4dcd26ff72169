"""A planned week from the shell: edits, locks, planning again, places, import and export."""

from __future__ import annotations

import io
import shutil
import zipfile
from pathlib import Path

import pytest

from dispatch.actions.plan_week import plan_week
from dispatch.cli import run
from dispatch.settings import Settings
from tests.intake.test_workbook import xlsx
from tests.town import TODAY, WEEK, build_town, end_of, fill_book, open_company

W = str(WEEK)
S1 = "S1/2026-W49/1"


@pytest.fixture(scope="module")
def planned_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Data of a planned company; copied, never changed."""
    folder = tmp_path_factory.mktemp("desk")
    company = open_company(folder)
    build_town(company, folder)
    fill_book(company)
    plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=100)
    company.engine.dispose()
    return folder / "data"


@pytest.fixture(autouse=True)
def company(planned_data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The shell stands in a planned company of the test's own."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"DISPATCH_{name.upper()}", raising=False)
    shutil.copytree(planned_data, tmp_path / "data")
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", str(end_of(TODAY)))
    monkeypatch.setenv("DISPATCH_COUNTRY", "")
    monkeypatch.chdir(tmp_path)


def said(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    """What a command prints, on either stream."""
    capsys.readouterr()
    assert run(list(words)) == code
    told = capsys.readouterr()
    return told.out + told.err


def test_a_visit_is_moved_undone_and_redone(capsys: pytest.CaptureFixture[str]) -> None:
    """Each step says what it did."""
    tried = said(capsys, "week", "move", W, S1, "T2", "2026-12-02", "--try")
    assert "Version 1." in tried
    moved = said(capsys, "week", "move", W, S1, "T2", "2026-12-02", "--stop", "1")
    assert "Invented One to Invented Ben, Wed 2, stop 1." in moved
    assert "Undone: Invented One to Invented Ben" in said(capsys, "week", "undo", W)
    assert "Redone: Invented One to Invented Ben" in said(capsys, "week", "redo", W)
    assert "Undone: Invented One" in said(capsys, "week", "history", W, "--csv")
    assert "taken out" in said(capsys, "week", "take-out", W, S1)
    assert "nothing to redo" in said(capsys, "week", "redo", W, code=1)


def test_a_lock_holds_while_the_week_is_planned_again(capsys: pytest.CaptureFixture[str]) -> None:
    """Beside the plan, compared, taken."""
    said(capsys, "week", "move", W, S1, "T2", "2026-12-02")
    said(capsys, "week", "lock", W, "--visit", S1)
    assert f"stop,{S1}" in said(capsys, "week", "locks", W, "--csv")
    assert "0 visits change" in said(capsys, "week", "again", W, "--iterations", "100")
    said(capsys, "week", "unlock", W, "--visit", S1)
    assert "visits change" in said(capsys, "week", "again", W, "--iterations", "100")
    assert "Invented One" in said(capsys, "week", "compare", W, "--csv")
    assert "stands at version 3" in said(capsys, "week", "take", W)
    said(capsys, "week", "drop", W)
    assert "Has every customer the visits agreed" in said(capsys, "week", "check", W, "--csv")


def test_places_for_a_new_customer_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """The best first, and the price of the favourite day."""
    told = said(capsys, "week", "places", W, "2 ab street", "--csv")
    assert told.splitlines()[1].startswith("T1,Invented Alma,")
    assert "Insisting on Wed" in said(
        capsys, "week", "places", W, "2 ab street", "--favourite", "Wed"
    )


def test_somebodys_workbook_is_matched_and_taken_in(capsys: pytest.CaptureFixture[str]) -> None:
    """Tried, refused with a report, taken in."""
    Path("c.xlsx").write_bytes(
        xlsx(["No", "Client", "Street", "How often", "Minutes"],
             ["S9", "Invented Nine", "2 ab street", "weekly", 20])
    )  # fmt: skip
    told = said(capsys, "import", "sites", "c.xlsx", "--try")
    assert "Would be: 1 new, 0 changed, 0 as they were." in told
    wrong = ("--column", "How often=dog", "--report", "wrong.csv")
    assert "nothing was taken in" in said(capsys, "import", "sites", "c.xlsx", *wrong, code=1)
    assert Path("wrong.csv").read_text().startswith("line,column,value,wrong,mend")
    assert "1 new" in said(capsys, "import", "sites", "c.xlsx")
    nobody = ("--column", "Colour=dog")
    assert "no heading 'Colour'" in said(capsys, "import", "sites", "c.xlsx", *nobody, code=1)


def test_everything_is_exported_into_one_file(capsys: pytest.CaptureFixture[str]) -> None:
    """Day sheets in print among it."""
    said(capsys, "export", "all.zip", "--week", W)
    with zipfile.ZipFile(io.BytesIO(Path("all.zip").read_bytes())) as packed:
        names = packed.namelist()
    assert {"sites.csv", "everything.xlsx", "sites.geojson"} <= set(names)
    assert sum(name.endswith(".pdf") for name in names) == sum(n.endswith(".gpx") for n in names)
    said(capsys, "export", "sites.geojson")
    assert Path("sites.geojson").read_text().startswith('{"type": "FeatureCollection"')
    said(capsys, "export", "all.xlsx")
    assert Path("all.xlsx").read_bytes().startswith(b"PK")


@pytest.mark.parametrize(
    "command",
    [
        ["export", "none/all.zip"],
        ["day-sheet", "T1", "2026-11-30", "--pdf", "none/sheet.pdf"],
    ],
)
def test_a_folder_that_is_not_there_is_named(
    command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """A slip in a path is no fault of the program."""
    told = said(capsys, *command, code=1)
    assert "There is no folder none for none/" in told
    assert "should not have" not in told


def test_a_design_of_standing_routes_is_decided_on_as_a_whole(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Any slice of it would be arbitrary; who wants few moves is told where they are."""
    assert said(capsys, "standing", "design", "--csv").startswith("site_id,site,from,to")
    refused = said(capsys, "standing", "decide", "design", "1", "2026-12-07", code=1)
    assert "take 'improve'" in refused
    wrong = said(capsys, "standing", "decide", "design", "some", "2026-12-07", code=1)
    assert "'some' is no number of moves" in wrong
    told = said(capsys, "standing", "decide", "design", "all", "2026-12-07")
    assert "customers change from 2026-12-07 on" in told
