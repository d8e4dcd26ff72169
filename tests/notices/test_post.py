from __future__ import annotations

import ssl
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from dispatch.errors import MailError
from dispatch.notices.letter import Letter
from dispatch.notices.post import SmtpPost
from dispatch.settings import Settings
from tests.mail_server import HERE, PASSWORD, SENDER, USER, MailServer, mail_server

LETTER = Letter("one@example.org", "Señora's pool", "Hello,\n\ntomorrow.\n", "<1@pools.example>")


@pytest.fixture
def server() -> Iterator[MailServer]:
    """A mail server that wants no password."""
    with mail_server() as found:
        yield found


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A certificate for this machine with its key, of nobody's making."""
    key, name = ec.generate_private_key(ec.SECP256R1()), x509.Name([])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(ip_address(HERE))]), True)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), True)
        .sign(key, hashes.SHA256())
    )
    file = tmp_path_factory.mktemp("tls") / "both.pem"
    pem = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    file.write_bytes(pem + made.public_bytes(serialization.Encoding.PEM))
    return file


def send(settings: Settings, *letters: Letter) -> None:
    post = SmtpPost(settings)
    try:
        for letter in letters:
            post.send(letter)
    finally:
        post.close()


def refused(settings: Settings, letter: Letter = LETTER) -> MailError:
    with pytest.raises(MailError) as caught:
        send(settings, letter)
    return caught.value


def test_a_letter_arrives_as_it_was_written(server: MailServer) -> None:
    """Plain text in any letters, from the sender, not to be answered by a machine; two at once."""
    send(server.told(Settings()), LETTER, LETTER)
    letter, again = server.letters
    (sender,) = letter["From"].addresses
    assert f"{sender.display_name} <{sender.addr_spec}>" == SENDER
    assert letter["To"] == "one@example.org"
    assert letter["Subject"] == "Señora's pool"
    assert letter["Auto-Submitted"] == "auto-generated"
    assert letter.get_content_type() == "text/plain"
    assert letter.get_content().replace("\r\n", "\n") == LETTER.text
    assert letter["Message-ID"] == again["Message-ID"] == "<1@pools.example>"


@pytest.mark.parametrize(("answer", "is_final"), [("550 no such user", True), ("451 later", False)])
def test_a_recipient_that_is_refused_is_told_without_the_address(
    server: MailServer, answer: str, is_final: bool
) -> None:
    """From 500 on it is of no use to try again (RFC 5321, 4.2.1); the address is personal."""
    server.answers["one@example.org"] = f"{answer} <one@example.org>"
    error = refused(server.told(Settings()))
    assert (error.is_final, error.is_of_server) == (is_final, False)
    assert answer in str(error)
    assert "one@example.org" not in str(error)


def test_a_line_break_never_reaches_a_heading(server: MailServer) -> None:
    """Whatever let it through before: that one letter is given up, and others go out."""
    error = refused(server.told(Settings()), replace(LETTER, subject="a\nBcc: x@example.org"))
    assert (error.is_final, error.is_of_server, server.letters) == (True, False, [])


def test_a_server_that_is_away_is_named_with_what_to_look_at() -> None:
    """Nobody listens there."""
    error = refused(MailServer(9).told(Settings()))
    assert error.is_of_server
    assert f"{HERE}:9 cannot be used" in str(error)
    assert "DISPATCH_MAIL_PORT" in str(error)


def test_a_password_goes_over_tls_alone(certificate: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """STARTTLS with a certificate that this machine trusts; wrong passwords are told as such."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    with mail_server(tls=context) as server:
        settings = server.told(Settings()).model_copy(
            update={"mail_security": "starttls", "mail_user": USER, "mail_password": PASSWORD}
        )
        assert "DISPATCH_MAIL_SECURITY" in str(refused(settings))  # nobody vouches for it
        monkeypatch.setenv("SSL_CERT_FILE", str(certificate))
        send(settings, LETTER)
        wrong = refused(settings.model_copy(update={"mail_password": "other"}))
    assert [one["Subject"] for one in server.letters] == ["Señora's pool"]
    assert wrong.is_of_server
    assert "DISPATCH_MAIL_PASSWORD" in str(wrong)


def test_no_password_leaves_this_machine_in_the_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """A slip in the settings must not give it away."""
    with mail_server() as server:
        named = server.told(Settings()).model_copy(update={"mail_user": USER})
        monkeypatch.setattr("dispatch.notices.post._is_here", lambda _host: False)
        assert "in the open" in str(refused(named))
    assert server.letters == []
