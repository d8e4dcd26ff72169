"""`dispatch serve`: the web service."""

from __future__ import annotations

import socket
import threading
import webbrowser
from typing import Annotated

import typer

from dispatch.cli.console import say
from dispatch.errors import SettingsError
from dispatch.settings import Settings, load_settings

DEFAULT_HOST = "127.0.0.1"  # this machine only; there is no login yet
DEFAULT_PORT = 8000
CLOSING_S = 2  # seconds for open answers; a page that follows a job holds its stream open
PORTS_TRIED = 50  # when the wanted one is taken

HostOption = Annotated[str, typer.Option(help="Address to listen on; 0.0.0.0 for all.")]
PortOption = Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")]


def serve_command(host: HostOption = DEFAULT_HOST, port: PortOption = DEFAULT_PORT) -> None:
    """Run the web service: the JSON API and the pages."""
    settings = load_settings()
    if not is_free(host, port):
        raise SettingsError(
            f"Port {port} of {host} cannot be listened on, most likely because another program "
            f"does: stop that one, or choose another port with --port {free_port(host, port)}."
        )
    serve(settings, host, port)


def serve(settings: Settings, host: str, port: int, *, open_browser: bool = False) -> None:
    """Run the web service until Ctrl-C."""
    import uvicorn

    from api.app import create_app

    app = create_app(settings)
    address = f"http://{'localhost' if host == '0.0.0.0' else host}:{port}/"  # noqa: S104
    say(f"Open {address} in a browser. Ctrl-C ends the service.")
    if open_browser:
        threading.Timer(1.0, webbrowser.open, [address]).start()
    uvicorn.run(app, host=host, port=port, log_level="warning", timeout_graceful_shutdown=CLOSING_S)


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
        f"Of the ports from {wanted} on, the next {PORTS_TRIED} are all in use: choose another "
        "with --port."
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
