"""Online services are asked at public addresses only, unless the company allows private ones.

A name may lead anywhere, a redirect too, and a second look-up of a name may differ from the first;
so it is the address of the opened connection that is looked at, before anything is sent.
"""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Iterable
from typing import Any
from urllib.parse import urlsplit

from geopy.adapters import RequestsAdapter
from requests.adapters import HTTPAdapter
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.connectionpool import HTTPConnectionPool, HTTPSConnectionPool
from urllib3.exceptions import NewConnectionError

from dispatch.errors import SettingsError
from dispatch.words import N_, _

MEND = N_("if it is the company's own service, set DISPATCH_ONLINE_PRIVATE=true")


def is_public(address: str) -> bool:
    """Whether an IP address is one of the open internet (IANA special-purpose registries)."""
    ip = ipaddress.ip_address(address.partition("%")[0])
    if isinstance(ip, ipaddress.IPv6Address):
        inner = ip.ipv4_mapped or ip.sixtofour
        if inner is not None:
            return is_public(str(inner))
    return ip.is_global and not ip.is_multicast


def check_public(url: str) -> None:
    """Look a service's name up before it is asked.

    Raises
    ------
    SettingsError
        When it leads to an address that is not public.
    """
    parts = urlsplit(url)
    try:
        found = socket.getaddrinfo(parts.hostname, parts.port or 443, type=socket.SOCK_STREAM)
    except OSError:
        return  # whoever asks says in his own words that there is no such name
    _check(str(parts.hostname), (str(one[4][0]) for one in found))


class PublicAdapter(RequestsAdapter):  # type: ignore[misc]
    """What a geocoder of geopy asks with, when only public addresses are allowed."""

    def __init__(self, *, proxies: Any, ssl_context: Any) -> None:
        super().__init__(proxies=proxies, ssl_context=ssl_context)
        for scheme in ("http://", "https://"):
            self.session.mount(scheme, _PublicTransport())


class _PublicConnection(HTTPConnection):
    def _new_conn(self) -> socket.socket:
        return _checked(self, super()._new_conn())


class _PublicTlsConnection(HTTPSConnection):
    def _new_conn(self) -> socket.socket:
        return _checked(self, super()._new_conn())


class _PublicPool(HTTPConnectionPool):
    ConnectionCls = _PublicConnection


class _PublicTlsPool(HTTPSConnectionPool):
    ConnectionCls = _PublicTlsConnection


class _PublicTransport(HTTPAdapter):
    def init_poolmanager(self, *args: Any, **kwargs: Any) -> None:
        """Make the pools of connections; called by the library."""
        super().init_poolmanager(*args, **kwargs)
        self.poolmanager.pool_classes_by_scheme = {"http": _PublicPool, "https": _PublicTlsPool}


def _checked(connection: HTTPConnection, opened: socket.socket) -> socket.socket:
    try:
        _check(connection.host, [str(opened.getpeername()[0])])
    except SettingsError as error:
        opened.close()
        raise NewConnectionError(connection, str(error)) from error
    return opened


def _check(name: str, addresses: Iterable[str]) -> None:
    for address in addresses:
        if not is_public(address):
            raise SettingsError(
                _(
                    "The online service '{name}' lies at {address}, which is not a public "
                    "address: {mend}."
                ).format(name=name, address=address, mend=_(MEND))
            )
