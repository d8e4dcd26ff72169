from __future__ import annotations

import json
import os
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from api.jobs.queue import Jobs
from dispatch.store.db import make_engine
from tests.api.jobs.waiting import wait_for
from tests.signed_in import signed_in_client
from tests.town import TODAY, WEEK, Company

ENDLESS = 100_000_000  # rounds; more than any test waits for


def wait_for_progress(client: TestClient, job: str) -> None:
    """Wait until the search of a job has begun."""
    while wait_for(client, job, "running")["progress"] is None:
        time.sleep(0.05)


def start(client: TestClient, week: str = str(WEEK.next), **wish: int) -> dict[str, Any]:
    """Start planning through the API."""
    answer = client.post(f"/api/weeks/{week}/plan", json=wish)
    assert answer.status_code == 202
    job: dict[str, Any] = answer.json()
    assert answer.headers["location"] == f"/api/jobs/{job['id']}"
    return job


def test_a_job_ends_with_the_week_planned(client: TestClient) -> None:
    """The way from the call to the stored plan, through queue, worker and database."""
    job = start(client, iterations=100, seed=7)

    ended = wait_for(client, job["id"], "done", "failed")

    assert (ended["state"], ended["detail"]) == ("done", "")
    plan = client.get(f"/api/weeks/{WEEK.next}/plan").json()
    assert (plan["seed"], plan["iterations"]) == (7, 100)


def test_a_stopped_job_keeps_the_best_plan_so_far(client: TestClient) -> None:
    """Stopping is no loss: what was found is there."""
    job = start(client, iterations=ENDLESS)
    wait_for_progress(client, job["id"])

    client.post(f"/api/jobs/{job['id']}/stop")

    assert wait_for(client, job["id"], "stopped", "done", "failed")["state"] == "stopped"
    assert client.get(f"/api/weeks/{WEEK.next}/plan").json()["iterations"] < ENDLESS


def test_progress_is_told_as_it_happens_and_the_stream_ends_with_the_job(
    client: TestClient,
) -> None:
    """A page follows the stream and must learn the end from it."""
    job = start(client, iterations=60_000)

    answer = client.get(f"/api/jobs/{job['id']}/events")

    assert answer.headers["content-type"].startswith("text/event-stream")
    events = [
        json.loads(line.removeprefix("data: "))
        for line in answer.text.splitlines()
        if line.startswith("data: ")
    ]
    assert events[-1]["is_over"]
    assert events[-1]["state"] == "done"
    assert not any(event["is_over"] for event in events[:-1])
    shares = [event["progress"]["share"] for event in events if event["progress"]]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_the_stream_of_no_job_is_not_found(client: TestClient) -> None:
    """An empty stream would be asked for again and again by the page of an old address."""
    answer = client.get("/api/jobs/none/events")
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


def test_a_week_being_planned_is_not_planned_twice(client: TestClient) -> None:
    """Two people press the button; there is one job."""
    first = start(client, iterations=ENDLESS)
    second = start(client, iterations=ENDLESS)

    assert second["id"] == first["id"]
    client.post(f"/api/jobs/{first['id']}/stop")
    wait_for(client, first["id"], "stopped")


def test_a_waiting_job_that_is_stopped_never_starts(client: TestClient) -> None:
    """One job runs at a time; a later one can be taken out of the queue."""
    first = start(client, iterations=ENDLESS)
    wait_for(client, first["id"], "running")
    second = start(client, week=str(WEEK.next.next), iterations=ENDLESS)
    assert second["state"] == "waiting"

    stopped = client.post(f"/api/jobs/{second['id']}/stop").json()

    assert stopped["state"] == "stopped"
    client.post(f"/api/jobs/{first['id']}/stop")
    wait_for(client, first["id"], "stopped")
    assert client.get(f"/api/weeks/{WEEK.next.next}/plan").status_code == 404


def test_a_job_that_cannot_succeed_says_why(client: TestClient) -> None:
    """A failure in the background has nobody to be raised to."""
    job = start(client, week=str(WEEK.previous.previous))

    ended = wait_for(client, job["id"], "done", "failed")

    assert (ended["state"], ended["code"]) == ("failed", "week-in-past")
    assert "2026-W47" in ended["detail"]


def test_a_job_that_nobody_started_is_not_found(client: TestClient) -> None:
    """Also where its progress is asked for."""
    assert client.get("/api/jobs/none").status_code == 404
    assert client.post("/api/jobs/none/stop").status_code == 404


def test_closing_the_service_keeps_the_best_plan_so_far(planned: Company) -> None:
    """Ctrl-C on the service must neither hang nor throw the work away."""
    with signed_in_client(planned.settings) as client:
        job = start(client, iterations=ENDLESS)
        wait_for_progress(client, job["id"])

    with signed_in_client(planned.settings) as client:
        assert client.get(f"/api/jobs/{job['id']}").json()["state"] == "stopped"
        assert client.get(f"/api/weeks/{WEEK.next}/plan").status_code == 200


def test_a_job_of_a_killed_service_begins_again(planned: Company) -> None:
    """kill -9 in the middle of the search: the next service ends the job, with the same seed."""
    program = f"""
        import time
        from datetime import date
        from pathlib import Path
        from api.jobs.queue import Jobs
        from dispatch.clock import IsoWeek
        from dispatch.settings import Settings
        from dispatch.store.db import make_engine
        settings = Settings(data_dir=Path({str(planned.settings.data_dir)!r}), country=None,
                            fixed_today=date.fromisoformat({TODAY.isoformat()!r}))
        jobs = Jobs(settings, make_engine(settings))
        jobs.open()
        job = jobs.plan_week(IsoWeek.parse({str(WEEK.next)!r}), seed=5, iterations={ENDLESS})
        while jobs.job(job.id).progress is None:
            time.sleep(0.05)
        print(job.id, flush=True)
        time.sleep(600)
    """
    service = subprocess.Popen(  # noqa: S603 - our own words
        [sys.executable, "-c", textwrap.dedent(program)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[3],
        env=dict(os.environ),
    )
    assert service.stdout is not None
    job = service.stdout.readline().strip()
    service.kill()
    service.wait()

    with signed_in_client(planned.settings) as client:
        assert wait_for(client, job, "running")["attempt"] > 1
        wait_for_progress(client, job)
        client.post(f"/api/jobs/{job}/stop")
        wait_for(client, job, "stopped")
        assert client.get(f"/api/weeks/{WEEK.next}/plan").json()["seed"] == 5


def test_two_services_in_one_process_are_refused(planned: Company) -> None:
    """The job library silently gives both the first one's database."""
    engine = make_engine(planned.settings)
    first = Jobs(planned.settings, engine)
    first.open()
    try:
        with pytest.raises(RuntimeError, match="close it first"):
            Jobs(planned.settings, engine).open()
    finally:
        first.close()
        engine.dispose()
