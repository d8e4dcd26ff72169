"""Runs the service of a data folder, for a browser in another process.

Takes the folder, and where wanted a port (else a free one) and the day to take for today. Prints
the port once the service answers.
"""

from __future__ import annotations

import socket
import sys
from datetime import date
from pathlib import Path

import uvicorn

from api.app import create_app
from dispatch.settings import Settings
from tests.town import TODAY, end_of


class Announcing(uvicorn.Server):
    """A server that says on which port it listens."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then print the port."""
        await super().startup(sockets)
        port = self.servers[0].sockets[0].getsockname()[1]
        sys.stdout.write(f"{port}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    port = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    today = date.fromisoformat(sys.argv[3]) if len(sys.argv) > 3 else TODAY
    settings = Settings(data_dir=Path(sys.argv[1]), country=None, fixed_today=end_of(today))
    config = uvicorn.Config(create_app(settings), host="127.0.0.1", port=port, log_level="warning")
    Announcing(config).run()
