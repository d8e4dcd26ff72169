"""`dispatch map`, as a person types it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from dispatch.cli import run
from dispatch.settings import Settings
from sample_region.metro import write_metro
from tests.drive.stand_in import StandIn
from tests.test_house import ROOT
from tests.town import SITES_CSV, TECHNICIANS_CSV, drawn_town


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a drawn map, and settings that point to it."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"DISPATCH_{name.upper()}", raising=False)
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    drawn_town().write(tmp_path)
    return tmp_path


def test_a_map_is_exported_and_built_from_again(capsys: pytest.CaptureFixture[str]) -> None:
    """The map is the company's, and OSMnx reads the file."""
    assert run(["map", "build", "drawn.osm"]) == 0
    first = capsys.readouterr().out
    assert run(["map", "export", "town.graphml"]) == 0
    assert "directed edges" in capsys.readouterr().out
    assert run(["map", "build", "town.graphml"]) == 0
    assert capsys.readouterr().out == first.replace("drawn.osm", "town.graphml")


def test_an_export_without_a_map_names_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    """The mend stands in the message."""
    assert run(["map", "export", "town.graphml"]) == 1
    assert "dispatch map build" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "Give either the FILE"),
        (["drawn.osm", "--place", "Millbrook"], "Give either the FILE"),
        (["--bbox", "1,2,3"], "is not four numbers"),
        (["--bbox", "2,0,1,1"], "is empty or not on the globe"),
    ],
)
def test_what_cannot_be_built_is_told(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One message, no traceback."""
    assert run(["map", "build", *words]) == 1
    assert said in capsys.readouterr().err


def test_what_was_not_taken_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A clipped extract is read, with a count of what it lacks."""
    text = (folder / "drawn.osm").read_text().replace('<nd ref="1"/>', '<nd ref="77"/>')
    (folder / "clipped.osm").write_text(text)
    assert run(["map", "build", "clipped.osm"]) == 0
    assert "Not taken: 2 points without a place." in capsys.readouterr().out


@pytest.mark.parametrize("words", [["--place", "Millbrook"], ["--bbox", "-0.01,-0.01,0.01,0.01"]])
def test_a_map_is_downloaded(
    words: list[str],
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """From a stand-in; the map is the one of the file."""
    stand_in = StandIn(drawn_town(), folder)
    monkeypatch.setenv("DISPATCH_ONLINE_PRIVATE", "true")
    monkeypatch.setenv("DISPATCH_OVERPASS_URL", f"{stand_in.url}/api")
    monkeypatch.setenv("DISPATCH_GEOCODER_DOMAIN", stand_in.url.removeprefix("http://"))
    monkeypatch.setenv("DISPATCH_GEOCODER_SCHEME", "http")
    assert run(["map", "build", *words]) == 0
    downloaded = capsys.readouterr().out
    stand_in.server.shutdown()
    assert run(["map", "build", "drawn.osm"]) == 0
    assert capsys.readouterr().out.replace("drawn.osm", "downloaded.osm.pbf") == downloaded


def test_ctrl_c_stops_a_build_and_leaves_the_old_map(folder: Path) -> None:
    """A large map takes minutes; nobody should have to wait for a mistake."""
    assert run(["map", "build", "drawn.osm"]) == 0
    map_folder = folder / "data" / "map"
    before = {file.name: file.read_bytes() for file in map_folder.iterdir()}
    write_metro(folder / "metro.osm.pbf", 5000)
    code = "from dispatch.cli import main; main()"
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    build = subprocess.Popen(  # noqa: S603 - our own words
        [sys.executable, "-c", code, "map", "build", "metro.osm.pbf"],
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
    )
    assert build.stderr is not None
    assert "Reading metro.osm.pbf" in build.stderr.readline()
    build.send_signal(signal.SIGINT)
    said = build.stderr.read()
    assert build.wait() == 1
    assert "Stopping; the map that was there stays." in said
    assert "was stopped" in said
    assert {file.name: file.read_bytes() for file in map_folder.iterdir()} == before


def test_sites_near_an_address_are_listed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """For a call that comes in while everybody is on the road; and for a spreadsheet."""
    (folder / "technicians.csv").write_text(TECHNICIANS_CSV)
    (folder / "sites.csv").write_text(SITES_CSV)
    for words in (
        ["map", "build", "drawn.osm"],
        ["technicians", "import", "technicians.csv"],
        ["sites", "import", "sites.csv"],
    ):
        assert run(words) == 0
    capsys.readouterr()
    assert run(["map", "within", "2 ab street", "--minutes", "0.3"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "2 sites within 0.3 minutes of 2 ab street (ab street, 10 m off)" in said
    assert "Invented Two" in said
    assert "Invented Three" not in said
    assert run(["map", "within", "2 ab street", "--csv"]) == 0
    assert capsys.readouterr().out.splitlines()[0] == "site,name,minutes,km"
    assert run(["map", "streets", "--csv"]) == 0
    assert "S3,Invented Three,ef street,0." in capsys.readouterr().out
