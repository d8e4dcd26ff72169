"""The service is told to end while somebody is in the middle of a call and a week is planned."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from api.callers import COOKIE
from dispatch.cli.serve import free_port
from tests.api.jobs.waiting import wait_for
from tests.signed_in import FROM_HERE, session_of, signed_in_client
from tests.town import TODAY, WEEK, Company

ENDLESS = 100_000_000  # rounds
PATIENCE_S = 120  # with a busy machine, not a measure


class Served:
    """`dispatch serve` in a process of its own, in which an owner is signed in."""

    def __init__(self, company: Company) -> None:
        self.port = free_port("127.0.0.1", 18_400)
        self.cookie = f"{COOKIE}={session_of(company.engine, company.settings)}"
        env = os.environ | {
            "DISPATCH_DATA_DIR": str(company.settings.data_dir),
            "DISPATCH_COUNTRY": "",
            "DISPATCH_FIXED_TODAY": TODAY.isoformat(),
            "DISPATCH_JOB_NICENESS": "13",
            "DISPATCH_SEARCH_RUNS": "1",
        }
        words = ["-c", "from dispatch.cli import main; main()", "serve", "--port", str(self.port)]
        self.process = subprocess.Popen(  # noqa: S603 - our own words
            [sys.executable, *words],
            cwd=Path(__file__).parents[3],
            env=env,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )

    def call(self, method: str, path: str, content: object = None) -> Any:
        """The JSON of an answer; None while nobody answers."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_S)
        headers = {"Cookie": self.cookie, "Content-Type": "application/json", **FROM_HERE}
        try:
            connection.request(method, path, json.dumps(content) if content else None, headers)
            return json.loads(connection.getresponse().read())
        except ConnectionRefusedError:
            return None
        finally:
            connection.close()

    def until(self, method: str, path: str, is_so: Any) -> Any:
        """Ask again until the answer is as wanted."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            found = self.call(method, path)
            if found is not None and is_so(found):
                return found
            time.sleep(0.1)
        raise AssertionError(f"{path} never came to be as wanted")


@pytest.fixture
def served(planned: Company) -> Iterator[Served]:
    """The service; killed in the end when it is still there."""
    one = Served(planned)
    yield one
    if one.process.poll() is None:
        one.process.kill()
    one.process.communicate()


def niceness_of_children(process: int) -> set[int]:
    """How far the processes below one step back (manual page proc_pid_stat(5), field 19)."""
    parents, nice = {}, {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        number = int(stat.parent.name)
        parents[number], nice[number] = int(fields[1]), int(fields[16])
    below = {process}
    while more := {one for one, parent in parents.items() if parent in below} - below:
        below |= more
    return {nice[one] for one in below - {process}}


@pytest.mark.sqlite_only
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc of Linux")
def test_a_service_told_to_end_answers_keeps_the_plan_and_says_so(
    planned: Company, served: Served
) -> None:
    """SIGTERM with half of a call received, and in the middle of a search."""
    served.until("GET", "/readyz", lambda _: True)
    job = served.call("POST", f"/api/weeks/{WEEK.next}/plan", {"iterations": ENDLESS})["id"]
    served.until("GET", f"/api/jobs/{job}", lambda found: found["progress"] is not None)
    assert 13 in niceness_of_children(served.process.pid)  # as DISPATCH_JOB_NICENESS says

    # something that no plan is made from, else the plan would be refused as made from old facts
    own = {"least": 7.2, "ideal_low": 7.3, "ideal_high": 7.5, "most": 7.8, "by": "Office"}
    body = json.dumps(own).encode()
    with socket.create_connection(("127.0.0.1", served.port), timeout=PATIENCE_S) as caller:
        caller.sendall(
            f"PUT /api/water/targets/ph HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: {served.cookie}\r\n"
            "If-Match: *\r\nSec-Fetch-Site: same-origin\r\nContent-Type: application/json\r\n"
            f"Content-Length: {len(body)}\r\n\r\n".encode()
            + body[:10]
        )
        time.sleep(0.2)  # the head of the call is there; nobody says so
        served.process.send_signal(signal.SIGTERM)
        time.sleep(0.2)
        caller.sendall(body[10:])
        answer = caller.recv(4096).decode()
    assert answer.startswith("HTTP/1.1 200 ")
    _, said = served.process.communicate(timeout=PATIENCE_S)
    assert served.process.returncode == 0, said
    assert "Traceback" not in said

    with signed_in_client(planned.settings) as client:
        ended = wait_for(client, job, "stopped", "done", "failed", "running")
        assert ended["state"] == "stopped", ended  # not begun again, not called done
        plan = client.get(f"/api/weeks/{WEEK.next}/plan")
        if plan.status_code == 200:
            assert 0 < plan.json()["iterations"] < ENDLESS
        else:  # a machine so busy that the time to end in was over
            assert "What had not been stored by then is lost" in ended["detail"]
        targets = {one["kind"]: one for one in client.get("/api/water/targets").json()}
        assert targets["ph"]["source"] == "own target, set by Office"
