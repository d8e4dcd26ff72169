from __future__ import annotations

import json
from pathlib import Path

import pytest
from anyio import BrokenResourceError
from starlette.testclient import TestClient
from starlette.types import Receive, Scope, Send

from api.app import create_app
from api.metrics import Metrics
from api.watch import Watch
from dispatch.settings import Settings
from tests.town import open_company


def service(folder: Path, **settings: object) -> tuple[TestClient, Settings]:
    """A service to which nobody is signed in, and its settings."""
    company = open_company(folder, **settings)
    company.engine.dispose()
    return TestClient(create_app(company.settings)), company.settings


def test_each_call_has_a_number_in_answer_and_log(tmp_path: Path) -> None:
    """What somebody saw on a screen can be found in the log, without any address in it."""
    client, settings = service(tmp_path)
    answer = client.get("/welcome/invented-secret")
    number = answer.headers["x-request-id"]
    lines = [json.loads(line) for line in settings.log_file.read_text().splitlines()]
    (line,) = [one for one in lines if one.get("request") == number]
    assert (line["event"], line["route"]) == ("call", "/welcome/{secret}")
    assert (line["method"], line["status"]) == ("GET", answer.status_code)
    assert "invented-secret" not in settings.log_file.read_text()


def test_a_number_from_outside_counts_only_behind_a_proxy(tmp_path: Path) -> None:
    """A stranger could otherwise write into the log what he likes."""
    given = {"X-Request-ID": "chosen-by-a-stranger"}
    client, _ = service(tmp_path / "alone")
    assert client.get("/healthz", headers=given).headers["x-request-id"] != given["X-Request-ID"]
    client, _ = service(tmp_path / "behind", trusted_proxies=("127.0.0.1",))
    assert client.get("/healthz", headers=given).headers["x-request-id"] == given["X-Request-ID"]
    bad = {"X-Request-ID": 'x"} {"event": "forged'}
    assert "forged" not in client.get("/healthz", headers=bad).headers["x-request-id"]


def broken_after_its_beginning(error: Exception) -> Watch:
    """A service whose answer has begun when the error comes."""

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b"data: 1\n\n", "more_body": True})
        raise error

    return Watch(app, Metrics(), trusts_numbers=False)


def test_a_reader_of_a_stream_who_goes_away_is_no_fault() -> None:
    """Every phone that loses its signal would otherwise leave a traceback in the log."""
    gone = ExceptionGroup("a stream", [BrokenResourceError()])
    assert TestClient(broken_after_its_beginning(gone)).get("/").text == "data: 1\n\n"


def test_another_fault_of_a_stream_is_told() -> None:
    """It must stand in the log."""
    fault = ExceptionGroup("a stream", [BrokenResourceError(), KeyError("S1")])
    with pytest.raises(ExceptionGroup):
        TestClient(broken_after_its_beginning(fault)).get("/")
