"""A mail server that stands in for the company's: it listens on this machine and keeps letters."""

from __future__ import annotations

import socket
import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult

from dispatch.settings import Settings

HERE = "127.0.0.1"
USER, PASSWORD = "desk", "invented"
SENDER = "Señor Pools, Inc. <office@pools.example>"
PUBLIC_URL = "https://pools.example"


@dataclass
class MailServer:
    """What it took, and what it answers to some recipients; `port` is where it listens."""

    port: int
    letters: list[EmailMessage] = field(default_factory=list)
    recipients: list[str] = field(default_factory=list)
    answers: dict[str, str] = field(default_factory=dict)

    async def handle_RCPT(  # noqa: N802 - the library's name
        self, _server: Any, _session: Any, envelope: Any, address: str, _options: list[str]
    ) -> str:
        """Take a recipient, unless another answer is set for it."""
        if address in self.answers:
            return self.answers[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:  # noqa: N802
        """Keep a letter."""
        letter = message_from_bytes(envelope.content, policy=policy.default)
        assert isinstance(letter, EmailMessage)
        self.letters.append(letter)
        self.recipients += envelope.rcpt_tos
        return "250 OK"

    def told(self, settings: Settings) -> Settings:
        """The same settings with this server for messages to customers."""
        mail = {
            "mail_server": HERE,
            "mail_port": self.port,
            "mail_security": "none",
            "mail_sender": SENDER,
            "public_url": PUBLIC_URL,
        }
        return settings.model_copy(update=mail)


@contextmanager
def mail_server(*, tls: ssl.SSLContext | None = None) -> Iterator[MailServer]:
    """The server; with `tls` it wants STARTTLS and USER with PASSWORD before anything else."""
    server = MailServer(_free_port())
    more: dict[str, Any] = {}
    if tls is not None:
        more = {"tls_context": tls, "require_starttls": True, "auth_required": True}
        more["authenticator"] = _authenticate
    controller = Controller(server, hostname=HERE, port=server.port, **more)
    controller.start()
    try:
        yield server
    finally:
        controller.stop()


def _free_port() -> int:
    """One that nobody listens on; the library cannot take whatever is free by itself."""
    with socket.socket() as probe:
        probe.bind((HERE, 0))
        return int(probe.getsockname()[1])


def _authenticate(_server: Any, _session: Any, _envelope: Any, _how: str, data: Any) -> AuthResult:
    good = (data.login, data.password) == (USER.encode(), PASSWORD.encode())
    return AuthResult(success=good, handled=False)
