"""`python -m sample_region --as-of 2026-11-25 FOLDER` writes the sample region."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from sample_region.folder import write


def main() -> None:
    """Read the command line and write the files."""
    parser = argparse.ArgumentParser(
        prog="python -m sample_region", description="Write an invented town and company."
    )
    parser.add_argument(
        "--as-of", type=date.fromisoformat, required=True, help="day of the data, as 2026-11-25"
    )
    parser.add_argument("folder", type=Path, help="where to write the four files")
    arguments = parser.parse_args()
    write(arguments.folder, arguments.as_of)


if __name__ == "__main__":
    main()
