"""Which workers are alive, and taking over the jobs of those that are not.

Each process that works on jobs holds a lock in PostgreSQL on a connection of its own. When the
process dies, however it dies, the server frees the lock; whoever gets it puts the jobs of the
dead one back into the queue, where exactly one worker takes each.
"""

from __future__ import annotations

import os
import socket
import threading
import uuid

import psycopg
import structlog
from dbos import DBOS

from dispatch.settings import Settings

log = structlog.get_logger(__name__)

WORKERS = 0x776F726B  # first half of the keys of these locks; any number that nothing else locks
LOOK_S = 2.0  # seconds between two looks for dead workers
# The server notices a machine that vanished without a word within about 30 s.
KEEPALIVE = "-c tcp_keepalives_idle=10 -c tcp_keepalives_interval=5 -c tcp_keepalives_count=4"
TAKE = "SELECT pg_try_advisory_lock(%s, hashtext(%s))"
GIVE = "SELECT pg_advisory_unlock(%s, hashtext(%s))"


def new_worker_name() -> str:
    """A name that no other process has or will have."""
    return f"{socket.gethostname()[:40]}-{os.getpid()}-{uuid.uuid4().hex[:8]}"


class Liveness:
    """Shows that this process is alive, and looks after the jobs of dead ones."""

    def __init__(self, settings: Settings, worker: str) -> None:
        self._address = settings.database_url.replace("+psycopg", "", 1)
        self._worker = worker
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._watch, name="liveness", daemon=True)
        self._connection = self._connect()

    def begin(self) -> None:
        """Look for dead workers from now on."""
        self._thread.start()

    def end(self) -> None:
        """Look no more; the lock is freed."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join()
        self._connection.close()

    def _connect(self) -> psycopg.Connection[tuple[bool]]:
        connection: psycopg.Connection[tuple[bool]] = psycopg.connect(
            self._address, autocommit=True, options=KEEPALIVE
        )
        connection.execute(TAKE, [WORKERS, self._worker])
        return connection

    def _watch(self) -> None:
        while not self._ended.wait(LOOK_S):
            try:
                self._take_over()
            except psycopg.Error as error:
                log.warning("the database was not reached to look for workers", why=str(error))
                self._reconnect()
            except Exception:
                log.exception("looking for dead workers failed")

    def _reconnect(self) -> None:
        try:
            self._connection.close()
            self._connection = self._connect()
        except psycopg.Error as error:
            log.warning("the database cannot be reached", why=str(error))

    def _take_over(self) -> None:
        pending = DBOS.list_workflows(status="PENDING", load_input=False, load_output=False)
        workers = {one.executor_id for one in pending if one.executor_id} - {self._worker}
        for worker in sorted(workers):
            if self._ask(TAKE, worker):
                try:
                    again = DBOS._recover_pending_workflows([worker])
                    log.warning("jobs of a dead worker begin again", worker=worker, jobs=len(again))
                finally:
                    self._ask(GIVE, worker)

    def _ask(self, query: str, worker: str) -> bool:
        row = self._connection.execute(query, [WORKERS, worker]).fetchone()
        return row is not None and row[0]
