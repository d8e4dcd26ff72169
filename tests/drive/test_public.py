from __future__ import annotations

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest
from geopy.exc import GeopyError

from dispatch.drive.geocode import online_geocoder
from dispatch.drive.public import check_public, is_public
from dispatch.errors import SettingsError


@pytest.mark.parametrize(
    "address",
    [
        *("127.0.0.1", "10.1.2.3", "172.16.0.1", "192.168.1.1", "0.0.0.0"),  # noqa: S104
        *("169.254.169.254", "100.64.0.1", "224.0.0.1", "255.255.255.255"),
        *("::1", "::", "fe80::1%eth0", "fd00::1", "ff02::1", "::ffff:127.0.0.1", "2002:7f00:1::"),
    ],
)
def test_inner_addresses_are_not_public(address: str) -> None:
    """Cloud machines give their keys to whoever asks at such an address."""
    assert not is_public(address)


@pytest.mark.parametrize("address", ["8.8.8.8", "2606:4700::1111", "::ffff:8.8.8.8"])
def test_the_open_internet_is_public(address: str) -> None:
    """The usual services must go on working."""
    assert is_public(address)


@pytest.fixture
def inner() -> Iterator[tuple[str, list[str]]]:
    """Host and port of a service on this machine, and the calls that reached it."""
    calls: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            calls.append(self.path)
            body = b'[{"lat": "1", "lon": "2", "display_name": "inner"}]'
            self.send_response(200)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *args: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"localhost:{server.server_port}", calls
    server.shutdown()


def test_a_geocoder_at_an_inner_address_is_never_asked(inner: tuple[str, list[str]]) -> None:
    """It is the opened connection that counts, so neither names nor redirects lead around it."""
    host, calls = inner
    guarded = online_geocoder("nominatim", domain=host, scheme="http")
    with pytest.raises(GeopyError, match="not a public address"):
        guarded.geocode("12 Oak Street")
    assert calls == []
    allowed = online_geocoder("nominatim", domain=host, scheme="http", may_be_private=True)
    assert allowed.geocode("12 Oak Street").latitude == 1.0
    assert len(calls) == 1


def test_a_map_service_at_an_inner_address_is_refused() -> None:
    """The mend is told, for the company that runs its own."""
    with pytest.raises(SettingsError, match="DISPATCH_ONLINE_PRIVATE"):
        check_public("http://127.0.0.1:8080/api")
