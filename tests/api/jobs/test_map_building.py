from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from api.jobs.map_building import uploads_folder
from tests.api.jobs.waiting import wait_for
from tests.drive.drawing import roads
from tests.grid_town import write_grid
from tests.signed_in import signed_in_client
from tests.town import WEEK, Company

OTHER_PICTURE = "a---b---c"


@pytest.fixture
def other_map(tmp_path: Path) -> Path:
    """A map of two streets, which takes the place of the drawn town's."""
    return roads(OTHER_PICTURE).write(tmp_path)


@pytest.fixture
def slow_map(tmp_path: Path) -> Path:
    """A map that takes several seconds to build: 40,000 crossings."""
    return write_grid(tmp_path / "grid.osm", 200)


def send(client: TestClient, file: Path, name: str = "") -> dict[str, Any]:
    """Start building through the API."""
    with file.open("rb") as content:
        answer = client.post("/api/map", files={"file": (name or file.name, content)})
    assert answer.status_code == 202, answer.text
    job: dict[str, Any] = answer.json()
    assert answer.headers["location"] == f"/api/jobs/{job['id']}"
    return job


def wait_for_line(client: TestClient, job: str) -> None:
    """Wait until the build itself has said something."""
    while wait_for(client, job, "running")["line"] in {"", "Starting"}:
        time.sleep(0.02)


def edges(client: TestClient) -> int:
    """Directed edges of the map in use."""
    return int(client.get("/api/map").json()["edges"])


def left_behind(company: Company) -> list[Path]:
    """Uploads, and folders of half-built maps."""
    building = list(company.settings.map_dir.glob(".building*"))
    return [*uploads_folder(company.settings).glob("*"), *building]


def test_an_uploaded_extract_becomes_the_map(
    client: TestClient, planned: Company, other_map: Path
) -> None:
    """Two streets of two directions are four edges; the map before had fourteen."""
    job = send(client, other_map, "two streets.osm")
    assert (job["kind"], job["file_name"]) == ("build-map", "two-streets.osm")

    ended = wait_for(client, job["id"], "done", "failed")

    assert (ended["state"], ended["detail"]) == ("done", "")
    assert client.get("/api/map").json()["source"] == "two-streets.osm"
    assert edges(client) == 4
    assert left_behind(planned) == []


def test_a_broken_extract_fails_by_its_name_and_leaves_the_old_map(
    client: TestClient, planned: Company, tmp_path: Path
) -> None:
    """Where we keep the upload is nobody's business."""
    broken = tmp_path / "broken.osm.pbf"
    broken.write_bytes(b"not a map")

    ended = wait_for(client, send(client, broken)["id"], "done", "failed")

    assert (ended["state"], ended["code"]) == ("failed", "unreadable-map")
    assert ended["detail"].startswith("broken.osm.pbf ")
    assert str(planned.settings.data_dir.absolute()) not in ended["detail"]
    assert edges(client) == 14
    assert left_behind(planned) == []


def test_a_stopped_build_leaves_the_old_map(
    client: TestClient, planned: Company, slow_map: Path
) -> None:
    """Stopped in the middle, with a half-read extract."""
    job = send(client, slow_map)
    wait_for_line(client, job["id"])

    client.post(f"/api/jobs/{job['id']}/stop")

    ended = wait_for(client, job["id"], "stopped", "done", "failed")
    assert (ended["state"], ended["code"]) == ("stopped", "cancelled")
    assert edges(client) == 14
    assert left_behind(planned) == []


def test_a_build_waits_for_a_running_plan_and_can_be_dropped(
    client: TestClient, planned: Company, other_map: Path
) -> None:
    """A map that changes under a plan would throw the plan away."""
    plan = client.post(f"/api/weeks/{WEEK.next}/plan", json={"iterations": 100_000_000}).json()
    wait_for(client, plan["id"], "running")
    job = send(client, other_map)
    assert job["state"] == "waiting"

    assert client.post(f"/api/jobs/{job['id']}/stop").json()["state"] == "stopped"

    assert left_behind(planned) == []
    assert [one["kind"] for one in client.get("/api/jobs").json()] == ["build-map", "plan-week"]
    client.post(f"/api/jobs/{plan['id']}/stop")
    wait_for(client, plan["id"], "stopped")
    assert edges(client) == 14


def test_a_build_ended_by_the_machine_is_told(
    client: TestClient, planned: Company, slow_map: Path
) -> None:
    """As when memory runs out: the service lives, says so and keeps the old map."""
    job = send(client, slow_map)
    wait_for_line(client, job["id"])

    for process in multiprocessing.active_children():
        process.kill()

    ended = wait_for(client, job["id"], "done", "failed")
    assert (ended["state"], ended["code"]) == ("failed", "map-error")
    assert "grid.osm was ended from outside (signal SIGKILL)" in ended["detail"]
    assert edges(client) == 14
    assert list(uploads_folder(planned.settings).glob("*")) == []


def test_closing_the_service_stops_a_build(planned: Company, slow_map: Path) -> None:
    """Ctrl-C must not wait for a state to be built."""
    with signed_in_client(planned.settings) as client:
        job = send(client, slow_map)
        wait_for_line(client, job["id"])

    assert multiprocessing.active_children() == []
    with signed_in_client(planned.settings) as client:
        assert client.get(f"/api/jobs/{job['id']}").json()["state"] == "stopped"
        assert edges(client) == 14
    assert left_behind(planned) == []


def test_a_build_of_a_killed_service_begins_again(planned: Company, tmp_path: Path) -> None:
    """kill -9 in the middle; an upload that no job had got yet is cleared away."""
    extract = write_grid(tmp_path / "grid.osm", 80)  # built twice: still longer than a kill takes
    program = f"""
        import shutil, time
        from pathlib import Path
        from api.jobs.map_building import uploads_folder
        from api.jobs.queue import Jobs
        from dispatch.settings import Settings
        from dispatch.store.db import make_engine
        if __name__ == "__main__":
            settings = Settings(data_dir=Path({str(planned.settings.data_dir)!r}), country=None)
            folder = uploads_folder(settings) / "one"
            jobs = Jobs(settings, make_engine(settings))
            jobs.open()
            folder.mkdir(parents=True)
            (uploads_folder(settings) / "broken-off").mkdir()
            shutil.copy({str(extract)!r}, folder / "grid.osm")
            job = jobs.build_map(folder / "grid.osm")
            while jobs.job(job.id).line in ("", "Starting") and not jobs.job(job.id).state.is_over:
                time.sleep(0.02)
            print(job.id, flush=True)
            time.sleep(600)
    """
    script = planned.settings.data_dir / "service.py"
    script.write_text(textwrap.dedent(program))
    root = Path(__file__).parents[3]
    service = subprocess.Popen(  # noqa: S603 - our own words
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=root,
        env=os.environ | {"PYTHONPATH": str(root)},
    )
    assert service.stdout is not None
    job = service.stdout.readline().strip()
    service.kill()
    service.wait()

    with signed_in_client(planned.settings) as client:
        assert [one.name for one in uploads_folder(planned.settings).glob("*")] == ["one"]
        ended = wait_for(client, job, "done", "failed")
        assert (ended["state"], ended["detail"]) == ("done", "")
        assert ended["attempt"] > 1
        # 80 streets each way, each of 79 pieces and two directions
        assert edges(client) == 80 * 79 * 4
    assert left_behind(planned) == []
