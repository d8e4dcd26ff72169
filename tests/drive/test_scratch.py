"""Folders that files are made in, and what a killed process leaves of them."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

from dispatch.drive.scratch import BUILDING, remove_abandoned, scratch_folder

KILLED = """
import sys
from pathlib import Path
from dispatch.drive.scratch import BUILDING, scratch_folder
with scratch_folder(Path(sys.argv[1]), BUILDING) as folder:
    (folder / "half.npz").write_text("half")
    print("working", flush=True)
    sys.stdin.read()
"""


def working(folder: Path) -> subprocess.Popen[str]:
    """Start a process that works in a scratch folder until it is ended."""
    process = subprocess.Popen(  # noqa: S603 - our own words
        [sys.executable, "-c", KILLED, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "working\n"
    return process


def test_what_a_killed_process_leaves_is_removed_and_what_another_works_on_stays(
    tmp_path: Path,
) -> None:
    """Half a map of a metropolitan area is hundreds of megabytes."""
    process = working(tmp_path)
    remove_abandoned(tmp_path)
    assert len(list(tmp_path.glob(f"{BUILDING}*/half.npz"))) == 1
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert len(list(tmp_path.glob(f"{BUILDING}*"))) == 1
    with scratch_folder(tmp_path, BUILDING) as folder:
        assert list(tmp_path.glob(f"{BUILDING}*")) == [folder]
    assert not list(tmp_path.iterdir())


def test_other_files_of_the_folder_stay(tmp_path: Path) -> None:
    """The map in use lies beside."""
    (tmp_path / "roads.npz").write_text("a map")
    remove_abandoned(tmp_path)
    assert (tmp_path / "roads.npz").read_text() == "a map"
    remove_abandoned(tmp_path / "missing")
