"""All files as a whole."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

NAMES = (
    "streets.osm.pbf",
    "sites.csv",
    "technicians.csv",
    "holds.csv",
    "one_offs.csv",
    "records.jsonl",
)


def test_the_command_line_writes_the_same_bytes_in_a_process_of_its_own(
    folder: Path, tmp_path: Path
) -> None:
    """Hash seeds differ between processes: order must not hang on them."""
    command = [sys.executable, "-m", "sample_region", "--as-of", "2026-11-25", str(tmp_path)]
    subprocess.run(command, check=True)  # noqa: S603 - our own module
    for name in NAMES:
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes(), name


def test_the_folder_holds_these_files_and_stays_small(folder: Path) -> None:
    """The demo writes them afresh each time, so they must not grow unnoticed."""
    assert sorted(p.name for p in folder.iterdir()) == sorted(NAMES)
    assert (folder / "streets.osm.pbf").stat().st_size < 1_000_000
