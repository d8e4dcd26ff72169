"""The settings that say what time it is; `dispatch.settings` adds them."""

from __future__ import annotations

from datetime import UTC, date, datetime, tzinfo
from zoneinfo import ZoneInfo, available_timezones

from dateutil.tz import tzlocal
from pydantic import Field, field_validator
from pydantic_settings import BaseSettings


class TimeSettings(BaseSettings):
    """The company's zone, the real time there, and another one to rehearse with."""

    time_zone: str | None = Field(
        default=None,
        description="IANA time zone that decides what day it is, as America/Phoenix; the machine's "
        "own when not set.",
    )
    fixed_today: date | datetime | None = Field(
        default=None,
        description="Day to take for today, as 2026-11-25, to rehearse with: clocks go on by the "
        "real time of day. A moment, as 2026-11-25T10:30 (company's time unless it has an offset), "
        "is where the clock stands still. The real time when not set.",
    )

    @field_validator("fixed_today", mode="before")
    @classmethod
    def _day_or_moment(cls, value: object) -> object:
        """A day alone must not become its midnight, nor a midnight a day."""
        if value == "":
            return None
        if not isinstance(value, str):
            return value
        try:
            if len(value) <= len("2026-11-25"):
                return date.fromisoformat(value)
            return datetime.fromisoformat(value)
        except ValueError as error:
            raise ValueError(
                "give a day, as 2026-11-25, or a moment, as 2026-11-25T10:30"
            ) from error

    @field_validator("time_zone")
    @classmethod
    def _zone_is_known(cls, value: str | None) -> str | None:
        if value is not None and value not in available_timezones():
            raise ValueError("there is no such time zone; write it as America/Phoenix")
        return value

    def today(self) -> date:
        """The day it is now in the company's time zone; only here is the calendar looked at."""
        fixed = self.fixed_today
        if fixed is None or isinstance(fixed, datetime):
            return self.now().astimezone(self.zone).date()
        return fixed

    def now(self) -> datetime:
        """The moment it is, in UTC; in a rehearsal the real time on its day, or its moment."""
        fixed = self.fixed_today
        if fixed is None:
            return datetime.now(UTC)
        if not isinstance(fixed, datetime):
            clock = datetime.now(self.zone).time()
            return datetime.combine(fixed, clock, self.zone).astimezone(UTC)
        return (fixed if fixed.tzinfo else fixed.replace(tzinfo=self.zone)).astimezone(UTC)

    @property
    def zone(self) -> tzinfo:
        """The company's time zone; the machine's own when none is set."""
        return tzlocal() if self.time_zone is None else ZoneInfo(self.time_zone)
