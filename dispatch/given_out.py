"""Settings of what leaves the house: paper, customers' links and messages; part of `settings`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, SecretStr
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
    messages_url: str = Field(
        default="",
        pattern=r"^(https?://\S+)?$",
        description="Address that takes messages to customers as JSON (a webhook of yours); none "
        "are sent when not set.",
    )
    messages_key: SecretStr = Field(
        default=SecretStr(""),
        description="Key with which each message is signed (HMAC-SHA-256, header X-Signature), so "
        "that the webhook can tell ours.",
    )
    message_on_the_way: str = Field(
        default="Your pool technician is on the way and should be with you between {earliest} and "
        "{latest}. {link}",
        max_length=600,
        description="Words of the message when the stop before is done; {earliest}, {latest}, "
        "{customer} and {link} are filled in.",
    )
