"""The service's log: one JSON object a line, in the file that the settings name."""

from __future__ import annotations

import structlog

from dispatch.settings import Settings


def open_log(settings: Settings) -> None:
    """Send what the service logs to `settings.log_file`.

    Tracebacks are written without the values of variables: those may hold gate codes.
    """
    settings.log_file.parent.mkdir(parents=True, exist_ok=True)
    file = settings.log_file.open("a", encoding="utf-8")
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
