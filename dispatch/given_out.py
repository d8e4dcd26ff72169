"""Settings of what leaves the house: paper, links and messages; part of `settings`."""

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
    mail_server: str = Field(
        default="",
        pattern=r"^[^\s/@]*$",
        description="Host of the mail server (SMTP) by which customers are told, as "
        "mail.example.org; nobody is told anything when not set.",
    )
    mail_port: int = Field(default=587, ge=1, le=65535, description="Its port.")
    mail_security: Literal["starttls", "tls", "none"] = Field(
        default="starttls",
        description="How the connection to it is kept private: starttls (port 587), tls (port "
        "465) or none, for a server on this machine.",
    )
    mail_user: str = Field(default="", description="Name to sign in to it with; empty for none.")
    mail_password: str = Field(default="", repr=False, description="Password that goes with it.")
    mail_sender: str = Field(
        default="",
        pattern=r"^([^@<>\r\n]*<[^\s@<>]+@[^\s@<>]+>|[^\s@<>]+@[^\s@<>]+)?$",
        description="Who the messages come from, as 'Example Pools <office@example.org>'.",
    )
    notices_from_hour: int = Field(
        default=16,
        ge=0,
        le=23,
        description="Hour of the company's clock from which 'dispatch notices' tells of the "
        "visits of the next day.",
    )

    @property
    def mail_from(self) -> tuple[str, str]:
        """Name and address of whom the messages come from; the name is empty where none is given.

        The name may hold commas, which a list of addresses would be cut at.
        """
        name, _bracket, address = self.mail_sender.rpartition("<")
        return name.strip(' "'), address.rstrip("> ")

    @property
    def mail_lacks(self) -> tuple[str, ...]:
        """The settings that messages to customers need and that are not set."""
        needed = ("mail_server", "mail_sender", "public_url")
        return tuple(f"DISPATCH_{name.upper()}" for name in needed if not getattr(self, name))

    @property
    def sends_mail(self) -> bool:
        """Whether messages to customers can go out at all."""
        return not self.mail_lacks
