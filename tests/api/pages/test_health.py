from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text
from starlette.testclient import TestClient

from api.app import create_app
from dispatch.store.db import transaction
from tests.town import open_company


@pytest.fixture
def stranger(tmp_path: Path) -> TestClient:
    """A caller who is not signed in and comes from another machine; jobs are not begun."""
    company = open_company(tmp_path, metrics_token="invented-token")  # noqa: S106
    company.engine.dispose()
    return TestClient(create_app(company.settings), raise_server_exceptions=False)


def test_alive_and_ready_need_no_sign_in(stranger: TestClient) -> None:
    """A machine that watches has no password."""
    assert stranger.get("/healthz").json() == {"alive": True}
    answer = stranger.get("/readyz")
    assert (answer.status_code, answer.json()["ready"]) == (200, True)


def test_a_database_of_another_version_is_not_ready(stranger: TestClient) -> None:
    """During an upgrade a proxy should send calls to the others."""
    engine = stranger.app.state.engine  # type: ignore[attr-defined]
    with transaction(engine) as session:
        session.execute(text("UPDATE alembic_version SET version_num = '0001'"))
    answer = stranger.get("/readyz")
    assert answer.status_code == 503
    assert answer.json()["why"] == "the tables are of another version"


def test_metrics_are_for_this_machine_or_the_token(tmp_path: Path) -> None:
    """They tell an attacker when the office sleeps."""
    company = open_company(tmp_path, metrics_token="invented-token")  # noqa: S106
    company.engine.dispose()
    app = create_app(company.settings)
    with TestClient(app, client=("127.0.0.1", 5)) as here:
        assert here.get("/metrics").status_code == 200
        through_proxy = {"X-Forwarded-For": "203.0.113.9"}
        assert here.get("/metrics", headers=through_proxy).status_code == 403
        far = TestClient(app, client=("203.0.113.9", 5))
        assert far.get("/metrics").status_code == 403
        wrong = {"Authorization": "Bearer wrong"}
        assert far.get("/metrics", headers=wrong).status_code == 403
        far.get("/healthz")
        right = {"Authorization": "Bearer invented-token"}
        told = far.get("/metrics", headers=right)
    assert told.status_code == 200
    name = 'dispatch_request_seconds_count{method="GET",route="/healthz",status="2xx"} 1.0'
    assert name in told.text
