"""The same actions from a shell; nothing else in the program prints."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import UTC

from dispatch.cli.app import app
from dispatch.cli.console import explain, explain_unexpected
from dispatch.day.moments import clocks_of
from dispatch.errors import DispatchError
from dispatch.measures import CUSTOMARY_COUNTRIES, measuring_in
from dispatch.settings import Settings, load_settings
from dispatch.words import SOURCE, reading_in

__all__ = ["main", "run"]


def main() -> None:
    """Run the command line of this process; whatever goes wrong ends in words and a code."""
    try:
        code = run(sys.argv[1:])
    except Exception as error:  # the last place where anything can be said
        explain_unexpected(error)
        code = 1
    sys.exit(code)


def run(words: Sequence[str]) -> int:
    """Run one command and return its exit code: 0 done, 1 refused, 2 misused, 130 interrupted.

    It speaks the company's language (`DISPATCH_LANGUAGE`) in the units of its country; what a
    command is for and its options are told in English.
    """
    settings = _settings()
    customary = settings is not None and settings.country in CUSTOMARY_COUNTRIES
    with (
        reading_in(settings.language if settings else SOURCE),
        measuring_in(customary=customary),
        clocks_of(settings.zone if settings else UTC),
    ):
        try:
            app(args=list(words), prog_name="dispatch")
        except DispatchError as error:
            explain(error)
            return 1
        except SystemExit as end:
            return end.code if isinstance(end.code, int) else 1
        return 0


def _settings() -> Settings | None:
    """The settings; None where they cannot be read, which is told later."""
    try:
        return load_settings()
    except DispatchError:
        return None
