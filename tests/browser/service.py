"""Services of data folders for a browser in another process, each in a process of its own.

Run as a module it loads the product once and forks every service from itself, because a test that
kills and starts one over and over must not wait for imports. It takes a line of JSON for each
service (`data`, `port`, `today`) and answers with the process and the port, once the service
answers. What is imported within functions is not to be imported by processes that the service
starts, which begin with this module.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
import traceback
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PATIENCE_S = 60  # seconds that a busy machine may take to end a service
LOOK_S = 0.02  # seconds between two looks at whether it has ended


@dataclass(frozen=True)
class Service:
    """A service that runs: its process and where it listens."""

    pid: int
    port: int

    @property
    def address(self) -> str:
        """Where a browser finds it."""
        return f"http://127.0.0.1:{self.port}"

    def end(self, with_signal: signal.Signals = signal.SIGTERM) -> None:
        """End it, with SIGKILL as a power cut would, and wait until it is no more."""
        os.kill(self.pid, with_signal)
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            try:
                os.kill(self.pid, 0)
            except ProcessLookupError:
                return
            time.sleep(LOOK_S)
        raise TimeoutError(f"The service {self.pid} did not end.")


def serve(data_dir: Path, today: date, port: int = 0) -> Service:
    """Serve a data folder, on a free port unless one is given, at the end of a day."""
    source = _source()
    assert source.stdin is not None
    assert source.stdout is not None
    asked = {"data": str(data_dir), "port": port, "today": today.isoformat()}
    source.stdin.write(json.dumps(asked) + "\n")
    source.stdin.flush()
    service = Service(**json.loads(source.stdout.readline()))
    if not service.port:
        raise RuntimeError(f"The service of {data_dir} did not start; it has said why.")
    return service


@cache
def _source() -> subprocess.Popen[str]:
    """The process that services are forked from; it ends with this one."""
    return subprocess.Popen(
        [sys.executable, "-m", "tests.browser.service"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )


def _main() -> None:
    """Fork a service for every line."""
    import api.app  # noqa: F401 - everything that a service needs
    import dispatch.planning.ready  # noqa: F401 - and its compiled code

    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # who has ended leaves nothing behind
    for line in sys.stdin:
        ours, theirs = os.pipe()
        pid = os.fork()
        if pid == 0:
            os.close(ours)
            _be_service(json.loads(line), theirs)
        os.close(theirs)
        with os.fdopen(ours) as said:
            port = int(said.readline() or "0")
        sys.stdout.write(json.dumps({"pid": pid, "port": port}) + "\n")
        sys.stdout.flush()


def _be_service(asked: dict[str, object], pipe: int) -> None:
    """Run a service in this process until it is told to end; say its port through a pipe."""
    import socket

    import uvicorn

    from api.app import create_app
    from dispatch.settings import Settings
    from tests.town import end_of

    class Announcing(uvicorn.Server):
        """A server that says on which port it listens."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            os.write(pipe, b"%d\n" % self.servers[0].sockets[0].getsockname()[1])
            os.close(pipe)

    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)  # what is asked and answered is not its own
    os.dup2(2, 1)
    try:
        settings = Settings(
            data_dir=Path(str(asked["data"])),
            country=None,
            fixed_today=end_of(date.fromisoformat(str(asked["today"]))),
        )
        config = uvicorn.Config(
            create_app(settings), host="127.0.0.1", port=int(str(asked["port"])),
            log_level="warning",
        )  # fmt: skip
        Announcing(config).run()
    except BaseException:
        traceback.print_exc()
        os._exit(1)
    os._exit(0)


if __name__ == "__main__":
    _main()
