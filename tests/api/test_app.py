"""The service as a whole."""

from __future__ import annotations

from pathlib import Path

from tests.signed_in import signed_in_client
from tests.town import Company, open_company


def test_two_services_of_one_process_share_no_company(planned: Company, tmp_path: Path) -> None:
    """They share the table of routes, and nothing that a call finds behind it."""
    new = open_company(tmp_path / "new")
    busy, bare = signed_in_client(planned.settings), signed_in_client(new.settings)
    for _again in range(2):
        assert [one["id"] for one in busy.get("/api/technicians").json()] == ["T1", "T2"]
        assert bare.get("/api/technicians").json() == []
    new.engine.dispose()
