from __future__ import annotations

import csv
import io
import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from functools import cache
from pathlib import Path

import pytest

import dispatch
from dispatch.actions.day import day_now, published_days
from dispatch.cli import run
from dispatch.cli.console import explain_unexpected
from dispatch.cli.demo import is_ready, peak_memory_mb
from dispatch.cli.serve import free_port, is_free
from dispatch.cli.weeks import stopped_by_ctrl_c
from dispatch.clock import IsoWeek
from dispatch.day.projection import FlagKind
from dispatch.day.state import StopState
from dispatch.settings import Settings, load_settings
from dispatch.store.db import make_engine, transaction
from sample_region.town import draw_town
from tests.actions.test_maps import FAR_SITE, FAR_TECHNICIAN
from tests.town import HOLDS_CSV, SITES_CSV, TECHNICIANS_CSV, drawn_town

WEEK = "2026-W49"
BEHIND = (FlagKind.LATE, FlagKind.NOT_STARTED, FlagKind.OVERDUE, FlagKind.NO_SIGN)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the company's files, and settings that point to it."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"DISPATCH_{name.upper()}", raising=False)
    monkeypatch.setenv("DISPATCH_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-25")
    monkeypatch.chdir(tmp_path)
    drawn_town().write(tmp_path)
    for name, text in (
        ("sites.csv", SITES_CSV),
        ("technicians.csv", TECHNICIANS_CSV),
        ("holds.csv", HOLDS_CSV),
    ):
        (tmp_path / name).write_text(text)
    return tmp_path


@pytest.fixture
def filled() -> None:
    """A map and a full book."""
    assert run(["map", "build", "drawn.osm"]) == 0
    assert run(["technicians", "import", "technicians.csv"]) == 0
    assert run(["sites", "import", "sites.csv"]) == 0
    assert run(["holds", "import", "holds.csv"]) == 0


def test_a_week_is_planned_from_files_alone(capsys: pytest.CaptureFixture[str]) -> None:
    """The whole thread, as a person would type it."""
    for words in (
        "map build drawn.osm",
        "technicians import technicians.csv",
        "sites import sites.csv",
        "holds import holds.csv",
        f"due {WEEK}",
        f"plan {WEEK} --seed 3 --iterations 200",
        f"show {WEEK}",
        "map show",
    ):
        assert run(words.split()) == 0, words
    said = capsys.readouterr().out
    assert "Street map of drawn.osm: 2 km of streets" in said
    assert "Taken in from sites.csv: 3 sites." in said
    assert f"Week {WEEK}: 4 visits in" in said
    assert "seed 3, 200 iterations" in said
    assert "2026-W49: workloads" in said


@pytest.mark.usefixtures("filled")
def test_lists_are_csv_and_json_on_demand(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing but the list may stand on the output, or no other program can read it."""
    assert run(["plan", WEEK, "--iterations", "100"]) == 0
    for words in (
        "sites list",
        "sites columns",
        "technicians list",
        "technicians columns",
        "holds list",
        "holds columns",
        "settings",
        f"due {WEEK}",
        *(f"due {WEEK} --list {one}" for one in ("visits", "not-due", "upkeep", "unknown")),
        f"show {WEEK}",
        *(
            f"show {WEEK} --list {one}"
            for one in ("stops", "unplaced", "put-off", "changes", "workloads")
        ),
    ):
        capsys.readouterr()
        assert run([*words.split(), "--csv"]) == 0
        rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out, newline="")))
        assert run([*words.split(), "--json"]) == 0
        objects = json.loads(capsys.readouterr().out)
        assert len(rows) == len(objects), words
        assert [list(row) for row in rows] == [list(one) for one in objects], words
        assert run(words.split()) == 0
        assert capsys.readouterr().out, words


@pytest.mark.usefixtures("filled")
def test_an_exported_list_can_be_imported(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """List, change in a spreadsheet, import."""
    capsys.readouterr()
    run(["sites", "list", "--csv"])
    (folder / "again.csv").write_text(capsys.readouterr().out)
    assert run(["sites", "import", "again.csv"]) == 0
    assert "3 sites." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("plan 2026-W49", "dispatch map build"),
        ("plan 2026-W99", "2026-W99 is no week of the calendar"),
        ("plan next", "'next' is no ISO week"),
        ("show 2026-W49", "There is no plan of week 2026-W49 yet"),
        ("show 2026-W49", "\nCommand: dispatch plan 2026-W49\n"),
        ("map show", "There is no street map"),
        ("map build nowhere.osm", "nowhere.osm"),
        ("map build sites.csv", "sites.csv"),
        ("sites import nowhere.csv", "The file nowhere.csv cannot be read: No such file"),
        ("sites import .", "The file . cannot be read"),
        ("sites import technicians.csv", "nothing of it was taken in"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_message(
    words: str, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 1, the message on the error stream, never a traceback."""
    assert run(words.split()) == 1
    said = capsys.readouterr()
    assert message in said.err
    assert "Traceback" not in said.err
    assert said.out == ""


def test_a_week_in_the_past_is_refused(filled: None, capsys: pytest.CaptureFixture[str]) -> None:
    """With the first week that can be planned."""
    assert run(["plan", "2026-W40"]) == 1
    assert "plan 2026-W48 or a later week" in capsys.readouterr().err


def test_every_bad_row_is_listed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With line, column and value, so that one look mends the whole file."""
    text = SITES_CSV.replace("weekly,45", "sometimes,45").replace("0,0.001", "95,0.001")
    (folder / "bad.csv").write_text(text)
    assert run(["sites", "import", "bad.csv"]) == 1
    said = capsys.readouterr().err
    assert "The table has 2 problems" in said
    assert "Line 2, column lat" in said
    assert "Line 3, column rhythm" in said
    assert "sometimes" in said


def test_a_file_in_another_encoding_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Letters would be lost silently."""
    (folder / "latin.csv").write_bytes(SITES_CSV.replace("Invented One", "Zoë").encode("latin-1"))
    assert run(["sites", "import", "latin.csv"]) == 1
    assert "UTF-8" in capsys.readouterr().err


def test_a_bad_setting_is_said_in_one_message(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before anything is done."""
    monkeypatch.setenv("DISPATCH_SEED", "often")
    assert run(["sites", "list"]) == 1
    assert "The setting DISPATCH_SEED is 'often'" in capsys.readouterr().err


def test_a_misused_command_ends_with_code_2(capsys: pytest.CaptureFixture[str]) -> None:
    """As shells expect it."""
    assert run(["plan"]) == 2
    assert "WEEK" in capsys.readouterr().err


def test_settings_shows_every_variable(capsys: pytest.CaptureFixture[str]) -> None:
    """The one list there is."""
    assert run(["settings", "--json"]) == 0
    found = {one["variable"]: one["value"] for one in json.loads(capsys.readouterr().out)}
    assert set(found) == {f"DISPATCH_{name.upper()}" for name in Settings.model_fields}
    assert found["DISPATCH_FIXED_TODAY"] == "2026-11-25"


@pytest.fixture
def heeded_ctrl_c() -> Iterator[None]:
    """Ctrl-C as in a terminal; what a script begins in the background ignores it from the start."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("heeded_ctrl_c")
def test_the_first_ctrl_c_asks_to_stop_and_the_second_interrupts() -> None:
    """The best plan so far is kept, unless the user insists."""

    def press_twice() -> None:
        with stopped_by_ctrl_c() as stop:
            signal.raise_signal(signal.SIGINT)
            assert stop.is_set()
            signal.raise_signal(signal.SIGINT)

    with pytest.raises(KeyboardInterrupt):
        press_twice()
    with stopped_by_ctrl_c() as stop:
        assert not stop.is_set()
    with pytest.raises(KeyboardInterrupt):  # outside, Ctrl-C is what it always was
        signal.raise_signal(signal.SIGINT)


@pytest.mark.usefixtures("filled")
def test_ctrl_c_during_a_long_search_keeps_the_best_plan(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sent to a real process once its search is under way; it would else run for hours."""
    words = ["plan", WEEK, "--iterations", "2000000000"]
    with subprocess.Popen(  # noqa: S603
        [sys.executable, "-c", "from dispatch.cli import main; main()", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(Path(dispatch.__file__).parents[1])},
    ) as process:
        started = select_line(process, "Searching")
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=120)
    assert started
    assert process.returncode == 0, err
    assert "the best plan so far is kept" in err
    assert f"Week {WEEK}: 4 visits in" in out
    assert run(["show", WEEK]) == 0


def select_line(process: subprocess.Popen[str], words: str) -> bool:
    """Read the error stream of a process up to the line that holds the words."""
    assert process.stderr is not None
    return any(words in line for line in process.stderr)


def test_something_unexpected_is_told_and_logged(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A traceback belongs into a file, not before the eyes of a dispatcher."""
    try:
        json.loads("no JSON")
    except ValueError as error:
        explain_unexpected(error)
    said = capsys.readouterr().err
    log = folder / "data" / "dispatch.log"
    assert f"The details are in {log}" in said.replace("\n", "")
    assert "Traceback" not in said
    assert "JSONDecodeError: Expecting value" in log.read_text()
    assert 'json.loads("no JSON")' in log.read_text()


@pytest.fixture
def taken_port() -> Iterator[int]:
    """A port that another program listens on."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        yield other.getsockname()[1]


def test_a_taken_port_is_named_with_a_free_one(
    taken_port: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before the service starts."""
    assert run(["serve", "--port", str(taken_port)]) == 1
    said = capsys.readouterr().err
    assert f"Port {taken_port} of 127.0.0.1 cannot be listened on" in said
    assert "--port" in said


def test_the_next_free_port_is_free(taken_port: int) -> None:
    """The demo takes it without asking."""
    port = free_port("127.0.0.1", taken_port)
    assert port > taken_port
    assert is_free("127.0.0.1", port)
    assert not is_free("127.0.0.1", taken_port)


def test_the_demo_is_made_once_a_week(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The second start must be quick, and next week's must plan the week after.

    The town is drawn once for both weeks: it is the same, and takes half of the time.
    """
    monkeypatch.setattr("sample_region.folder.draw_town", cache(draw_town))
    monkeypatch.setenv("DISPATCH_DEFAULT_ITERATIONS", "500")
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-25T11:00")
    assert run(["demo", "--no-serve"]) == 0
    first = capsys.readouterr()
    assert "Week 2026-W49:" in first.out
    on_a_living_day = {"published": 3, "begun": True, "behind": 0}
    assert _day_counts("2026-11-25T11:00") == on_a_living_day
    assert "peak memory so far, MB" in first.out
    assert "Building the street map" in first.err
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-29T11:00")  # the Sunday of the same week
    assert run(["demo", "--no-serve"]) == 0
    second = capsys.readouterr()
    assert "is there from an earlier start" in second.err
    assert "Planning" not in second.err
    assert _day_counts("2026-11-27T11:00")["published"] == 4  # Thursday is a holiday
    monkeypatch.setenv("DISPATCH_FIXED_TODAY", "2026-11-30T11:00")
    assert run(["demo", "--no-serve"]) == 0
    third = capsys.readouterr()
    assert "Week 2026-W50:" in third.out
    assert _day_counts("2026-11-30T11:00") == on_a_living_day | {"published": 2}
    assert run(["sites", "list", "--csv"]) == 0
    assert capsys.readouterr().out.count("\n") == 1  # the company's own book is still empty


def _day_counts(now: str) -> dict[str, int | bool]:
    """How the board of the demo stands on a day of its present week."""
    settings = load_settings(fixed_today=now).in_folder("demo")
    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        week = set(IsoWeek.of(settings.today()).days)
        board = day_now(session, settings, settings.today(), now=settings.now())
        found = {
            "published": len(week & set(published_days(session))),
            "begun": board.counts[StopState.DONE] > 0,
            "behind": sum(one.kind in BEHIND for one in board.flags),
        }
    engine.dispose()
    return found


@pytest.mark.parametrize(
    "left", [None, "", '{"monday": "2026-11-2', "[]", '{"monday": "2026-11-23"}']
)
def test_a_demo_broken_off_is_not_taken_for_ready(folder: Path, left: str | None) -> None:
    """Nor is one whose database was taken away."""
    settings = load_settings().in_folder("demo")
    settings.data_dir.mkdir(parents=True)
    if left is not None:
        (settings.data_dir / "demo.json").write_text(left)
    assert not is_ready(settings, date(2026, 11, 23))


def test_peak_memory_is_in_megabytes() -> None:
    """A Python with NumPy takes more than 20 MB and this one less than 20 GB."""
    assert 20 < peak_memory_mb() < 20_000


@pytest.mark.usefixtures("filled")
def test_places_off_the_streets_are_named_after_an_import(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Beside the answer: the table is taken in, and somebody should look at this row."""
    (folder / "far.csv").write_text(FAR_SITE)
    (folder / "crew.csv").write_text(FAR_TECHNICIAN)
    capsys.readouterr()
    assert run(["sites", "import", "far.csv"]) == 0
    assert run(["technicians", "import", "crew.csv"]) == 0
    assert run(["holds", "import", "holds.csv"]) == 0
    said = capsys.readouterr()
    assert "Taken in from far.csv: 1 site." in said.out
    assert [line.split(" at ")[0] for line in said.err.splitlines()] == [
        "Site S9",
        "The end of T9",
    ]


@pytest.mark.usefixtures("filled")
def test_an_import_succeeds_beside_a_damaged_map(folder: Path) -> None:
    """The warning is a service, not a condition."""
    for file in (folder / "data" / "map").glob("*.npz"):
        file.write_bytes(b"broken")
    assert run(["sites", "import", "sites.csv"]) == 0
