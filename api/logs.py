"""The service's log: one JSON object a line, in the file that the settings name."""

from __future__ import annotations

import io
import sys
from contextlib import suppress

import structlog

from dispatch.errors import SettingsError
from dispatch.settings import Settings
from dispatch.words import _


class LogFile(io.TextIOWrapper):
    """A file that takes a line, or lets it go to the error stream where the disk is full.

    A call that was answered must not fail afterwards because nobody could write it down.
    """

    def write(self, text: str) -> int:
        """Write a line at once."""
        try:
            super().write(text)
            super().flush()
        except OSError:
            with suppress(OSError):
                sys.stderr.write(text)
        return len(text)

    def flush(self) -> None:
        """What can be written has been."""


def open_log(settings: Settings) -> None:
    """Send what the service logs to `settings.log_file`.

    Tracebacks are written without the values of variables: those may hold gate codes.

    Raises
    ------
    SettingsError
        When the file cannot be written.
    """
    try:
        settings.log_file.parent.mkdir(parents=True, exist_ok=True)
        file = LogFile(settings.log_file.open("ab"), encoding="utf-8")
    except OSError as error:
        raise SettingsError(
            _(
                "The log {file} cannot be written: {why}. Let whoever runs the service write in "
                "the folder, or name another one with DISPATCH_DATA_DIR."
            ).format(file=settings.log_file, why=error.strerror)
        ) from error
    structlog.configure(
        processors=[
            structlog.contextvars.merge_contextvars,  # the number of the call, see `api.watch`
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(),
        ],
        logger_factory=structlog.WriteLoggerFactory(file=file),
    )
