"""Settings of the day: what is flagged, what alarms and when a repair pays; part of `settings`."""

from __future__ import annotations

from pydantic import Field
from pydantic_settings import BaseSettings


class DaySettings(BaseSettings):
    """What an installation may choose about its days."""

    late_flag_min: int = Field(
        default=15,
        ge=1,
        le=600,
        description="Minutes behind plan that flag a stop as late or overdue.",
    )
    window_flag_min: int = Field(
        default=15,
        ge=0,
        le=600,
        description="Minutes to spare in a promised window that flag a stop.",
    )
    lone_worker_min: int = Field(
        default=45, ge=1, le=1440, description="Minutes overdue without a sign of life that alarm."
    )
    repair_threshold_min: int = Field(
        default=15,
        ge=0,
        le=600,
        description="Minutes a repair must save for each order it changes.",
    )
