"""Runs the service of a data folder on a free port, for a browser in another process.

Prints the port once the service answers.
"""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import uvicorn

from api.app import create_app
from dispatch.settings import Settings
from tests.town import TODAY


class Announcing(uvicorn.Server):
    """A server that says on which port it listens."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then print the port."""
        await super().startup(sockets)
        port = self.servers[0].sockets[0].getsockname()[1]
        sys.stdout.write(f"{port}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    settings = Settings(data_dir=Path(sys.argv[1]), country=None, fixed_today=TODAY)
    config = uvicorn.Config(create_app(settings), host="127.0.0.1", port=0, log_level="warning")
    Announcing(config).run()
