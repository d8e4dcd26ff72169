from __future__ import annotations

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from geopy.exc import GeopyError

from dispatch.drive import public
from dispatch.drive.download import download_extract
from dispatch.drive.geocode import online_geocoder
from dispatch.drive.public import check_public, is_public
from dispatch.errors import MapError, SettingsError


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

    server = HTTPServer(("", 0), Handler)
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


@pytest.fixture
def outer(inner: tuple[str, list[str]], monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Host and port of a service that counts as public here, and leads on to the inner one."""
    target = inner[0].replace("localhost", "127.0.0.2")

    class Handler(BaseHTTPRequestHandler):
        def lead_on(self) -> None:
            self.rfile.read(int(self.headers.get("Content-Length", "0")))
            self.send_response(307)
            self.send_header("Location", f"http://{target}/latest/keys")
            self.send_header("Content-Length", "0")
            self.end_headers()

        do_GET = do_POST = lead_on  # noqa: N815 - the library's names

        def log_message(self, *args: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    monkeypatch.setattr(public, "is_public", lambda address: address == "127.0.0.1")
    yield f"127.0.0.1:{server.server_port}"
    server.shutdown()


def test_a_geocoder_that_leads_to_an_inner_address_is_not_followed(
    outer: str, inner: tuple[str, list[str]]
) -> None:
    """The keys of a cloud machine are one redirect away from any name."""
    guarded = online_geocoder("nominatim", domain=outer, scheme="http")
    with pytest.raises(GeopyError, match="not a public address"):
        guarded.geocode("12 Oak Street")
    assert inner[1] == []


@pytest.mark.parametrize("area", ["Millbrook", (-0.01, -0.01, 0.01, 0.01)])
def test_a_map_service_that_leads_to_an_inner_address_is_not_followed(
    area: str | tuple[float, float, float, float],
    outer: str,
    inner: tuple[str, list[str]],
    tmp_path: Path,
) -> None:
    """Both of them, the one that finds places and the one that has the streets."""
    with pytest.raises(MapError, match="not a public address"):
        download_extract(
            area, tmp_path, f"http://{outer}/api", f"http://{outer}/", public_only=True
        )
    assert inner[1] == []


def test_a_map_service_at_an_inner_address_is_refused() -> None:
    """The mend is told, for the company that runs its own."""
    with pytest.raises(SettingsError, match="DISPATCH_ONLINE_PRIVATE"):
        check_public("http://127.0.0.1:8080/api")
