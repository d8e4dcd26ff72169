"""`dispatch serve`: the web service."""

from __future__ import annotations

import signal
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from typing import Annotated

import typer

from dispatch.cli.console import say
from dispatch.cli.ways_in import Links, first_links
from dispatch.errors import SettingsError
from dispatch.settings import Settings, load_settings
from dispatch.words import _

DEFAULT_HOST = "127.0.0.1"  # this machine only unless told otherwise
DEFAULT_PORT = 8000
# Seconds for calls under way to be answered; a page that follows a job holds its stream open.
CLOSING_S = 5
KEPT_OPEN_S = 75  # seconds for the next call on a connection; proxies are set to keep it for less
# Seconds until a thread that waits may go on. A call goes through many threads and waits each time;
# with Python's 0.005 the slowest calls of 200 phones took half as long again (measured).
TURN_S = 0.001
PORTS_TRIED = 50  # when the wanted one is taken

HostOption = Annotated[str, typer.Option(help="Address to listen on; 0.0.0.0 for all.")]
PortOption = Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")]


def serve_command(host: HostOption = DEFAULT_HOST, port: PortOption = DEFAULT_PORT) -> None:
    """Run the web service: the JSON API and the pages."""
    settings = load_settings()
    if not is_free(host, port):
        raise SettingsError(
            _(
                "Port {port} of {host} cannot be listened on, most likely because another "
                "program does: stop that one, or choose another port with --port {free}."
            ).format(port=port, host=host, free=free_port(host, port))
        )
    serve(settings, host, port)


def serve(
    settings: Settings,
    host: str,
    port: int,
    *,
    open_browser: bool = False,
    links_of: Callable[[Settings, str], Links] = first_links,
) -> None:
    """Run the web service until Ctrl-C or SIGTERM.

    Calls under way are answered then, and a running job ends in good order (a search keeps its
    best plan); the exit code after SIGTERM is 0. `links_of` makes the links that are printed first.
    """
    import uvicorn

    from api.app import create_app

    _end_well_when_told()
    sys.setswitchinterval(TURN_S)

    app = create_app(settings)
    address = f"http://{'localhost' if host == '0.0.0.0' else host}:{port}/"  # noqa: S104
    links = links_of(settings, address)
    for words, link in links:
        say(f"{words}:", f"  {link}")
    say(_("The service is at {address}; Ctrl-C ends it.").format(address=address))
    if open_browser:
        first = links[0][1] if links else address
        threading.Timer(1.0, webbrowser.open, [first]).start()
    uvicorn.run(
        app,
        host=host,
        port=port,
        log_level="warning",
        timeout_graceful_shutdown=CLOSING_S,
        timeout_keep_alive=KEPT_OPEN_S,
        proxy_headers=bool(settings.trusted_proxies),  # else whoever calls could name any address
        forwarded_allow_ips=list(settings.trusted_proxies),
        server_header=False,
    )


def _end_well_when_told() -> None:
    """Let SIGTERM end the process with exit code 0, once everything has ended in good order.

    The server sends the signal that it was told to end by to the process again when it is done.
    """
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, lambda _number, _frame: None)


def free_port(host: str, wanted: int) -> int:
    """The first port from `wanted` on that nothing listens on.

    Raises
    ------
    SettingsError
        When none of the next `PORTS_TRIED` is free.
    """
    for port in range(wanted, min(wanted + PORTS_TRIED, 65_536)):
        if is_free(host, port):
            return port
    raise SettingsError(
        _(
            "Of the ports from {wanted} on, the next {tried} are all in use: choose "
            "another with --port."
        ).format(wanted=wanted, tried=PORTS_TRIED)
    )


def is_free(host: str, port: int) -> bool:
    """Whether the port can be listened on."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # as the service itself does
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True
