"""Settings of what leaves the house: paper and customers' links; part of `settings`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field
from pydantic_settings import BaseSettings


class GivenOut(BaseSettings):
    """What an installation may choose about what it gives to technicians and customers."""

    paper: Literal["letter", "a4"] = Field(
        default="letter", description="Size of printed day sheets: letter or a4."
    )
    visit_link_days: int = Field(
        default=14,
        ge=1,
        le=366,
        description="Days after a visit for which the customer's link still shows what was done.",
    )
    arrival_window_min: int = Field(
        default=60,
        ge=10,
        le=480,
        description="Width in minutes of the window in which a customer is told to expect the "
        "technician.",
    )
