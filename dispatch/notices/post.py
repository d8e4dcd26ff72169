"""The way out: letters are handed to whoever sends them, here a mail server by SMTP (RFC 5321)."""

from __future__ import annotations

import re
import smtplib
import ssl
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from ipaddress import ip_address
from typing import Protocol

from dispatch.errors import MailError
from dispatch.notices.letter import Letter
from dispatch.settings import Settings
from dispatch.words import _

PATIENCE_S = 20  # seconds for each answer of the server
FINAL = 500  # from this answer on trying again is no use (RFC 5321, 4.2.1)
ANY_ADDRESS = re.compile(r"<?[^\s<>@]+@[^\s<>@]+>?")


class Post(Protocol):
    """Whoever sends letters."""

    def send(self, letter: Letter) -> None:
        """Hand a letter over; once this returns, it is on its way.

        Raises
        ------
        MailError
            When it could not be handed over; it says whether trying again is of use.
        """


class SmtpPost:
    """Sends through the mail server of the settings; the connection stays open between letters."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._server: smtplib.SMTP | None = None

    def send(self, letter: Letter) -> None:
        """Hand a letter to the mail server; raises as `Post.send` does."""
        try:
            message = _message(letter, self._settings)
        except (ValueError, MessageError) as error:  # as for a line break in a heading
            why = _("The message cannot be written as mail: {why}.").format(
                why=type(error).__name__
            )
            raise MailError(why, is_final=True) from None
        with _told(self._settings):
            server = self._connected()
            try:
                server.send_message(message, self._settings.mail_from[1], [letter.to])
            except smtplib.SMTPRecipientsRefused as error:
                code, words = next(iter(error.recipients.values()))
                raise MailError(_said(code, words), is_final=code >= FINAL) from None
            except smtplib.SMTPDataError as error:
                is_final = error.smtp_code >= FINAL
                raise MailError(
                    _said(error.smtp_code, error.smtp_error), is_final=is_final
                ) from None

    def try_out(self) -> None:
        """Connect and sign in, and send nothing; raises MailError."""
        with _told(self._settings):
            self._connected()

    def close(self) -> None:
        """End the connection, where there is one."""
        if self._server is not None:
            with suppress(OSError, smtplib.SMTPException):
                self._server.quit()
            self._server = None

    def _connected(self) -> smtplib.SMTP:
        """The server, signed in to; a connection that it has ended meanwhile is made anew."""
        if self._server is not None:
            with suppress(OSError, smtplib.SMTPException):
                if self._server.noop()[0] == 250:
                    return self._server
            self.close()
        self._server = _connect(self._settings)
        return self._server


def _connect(settings: Settings) -> smtplib.SMTP:
    host, port = settings.mail_server, settings.mail_port
    if settings.mail_security == "tls":
        context = ssl.create_default_context()
        server: smtplib.SMTP = smtplib.SMTP_SSL(host, port, timeout=PATIENCE_S, context=context)
    else:
        server = smtplib.SMTP(host, port, timeout=PATIENCE_S)
    try:
        if settings.mail_security == "starttls":
            server.starttls(context=ssl.create_default_context())
        if settings.mail_user:
            _check_private(settings)
            server.login(settings.mail_user, settings.mail_password)
    except BaseException:
        server.close()
        raise
    return server


def _check_private(settings: Settings) -> None:
    """Refuse to send a password over a network in the open."""
    if settings.mail_security == "none" and not _is_here(settings.mail_server):
        raise MailError(
            _(
                "The password would go to {host} in the open: set DISPATCH_MAIL_SECURITY to "
                "starttls or tls."
            ).format(host=settings.mail_server),
            is_of_server=True,
        )


@contextmanager
def _told(settings: Settings) -> Iterator[None]:
    """What goes wrong with the server itself, in words that say what to do."""
    named = {"host": settings.mail_server, "port": settings.mail_port}
    try:
        yield
    except MailError:
        raise
    except smtplib.SMTPAuthenticationError as error:
        raise MailError(
            _(
                "The mail server {host} does not accept user and password ({code}): see "
                "DISPATCH_MAIL_USER and DISPATCH_MAIL_PASSWORD."
            ).format(code=error.smtp_code, **named),
            is_of_server=True,
        ) from None
    except smtplib.SMTPSenderRefused as error:
        raise MailError(
            _(
                "The mail server {host} does not accept the sender ({code}): see "
                "DISPATCH_MAIL_SENDER, and whether it asks for a user."
            ).format(code=error.smtp_code, **named),
            is_of_server=True,
        ) from None
    except ssl.SSLError as error:
        raise MailError(
            _(
                "The mail server {host}:{port} and this machine do not agree on TLS ({why}): see "
                "DISPATCH_MAIL_SECURITY and DISPATCH_MAIL_PORT, and its certificate."
            ).format(why=error.reason or type(error).__name__, **named),
            is_of_server=True,
        ) from None
    except (OSError, smtplib.SMTPException) as error:
        raise MailError(
            _(
                "The mail server {host}:{port} cannot be used ({why}): see that it runs, and "
                "DISPATCH_MAIL_SERVER, DISPATCH_MAIL_PORT and DISPATCH_MAIL_SECURITY."
            ).format(why=_hushed(str(error)) or type(error).__name__, **named),
            is_of_server=True,
        ) from None


def _message(letter: Letter, settings: Settings) -> EmailMessage:
    """The letter as RFC 5322 has it; marked as sent by a machine (RFC 3834), so nothing answers."""
    message = EmailMessage()
    name, address = settings.mail_from
    message["From"] = Address(name, addr_spec=address)
    message["To"] = Address(addr_spec=letter.to)
    message["Subject"] = letter.subject
    message["Date"] = format_datetime(settings.now())
    message["Message-ID"] = letter.message_id
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(letter.text)
    return message


def _said(code: int, words: bytes | str) -> str:
    text = words.decode(errors="replace") if isinstance(words, bytes) else words
    return _("The mail server did not take it: {code} {words}").format(
        code=code, words=_hushed(text)
    )


def _hushed(words: str) -> str:
    """Words of a server on one line, without the addresses in them."""
    return " ".join(ANY_ADDRESS.sub("…", words).split())[:200]


def _is_here(host: str) -> bool:
    try:
        return host == "localhost" or ip_address(host).is_loopback
    except ValueError:
        return False
