from __future__ import annotations

import json
from pathlib import Path

import pytest

from api.app import create_app
from dispatch.errors import SettingsError
from tests.signed_in import signed_in_client
from tests.town import Company


@pytest.mark.sqlite_only
def test_a_service_without_room_for_its_log_still_answers(
    planned: Company, capsys: pytest.CaptureFixture[str]
) -> None:
    """On a full disk people look up today's stops all the same; the line goes where there is room.

    /dev/full takes nothing (Linux manual, full(4)).
    """
    planned.settings.log_file.unlink(missing_ok=True)
    planned.settings.log_file.symlink_to("/dev/full")
    client = signed_in_client(planned.settings)

    assert client.get("/api/sites").status_code == 200
    assert client.get("/nowhere").status_code == 404

    lines = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
    assert [one["status"] for one in lines] == [200, 404]


@pytest.mark.sqlite_only
def test_a_log_that_cannot_be_written_is_told_at_the_start(
    planned: Company, tmp_path: Path
) -> None:
    """As a disk that is there to be read alone: which file, why, and the way out."""
    (tmp_path / "a-file").touch()
    settings = planned.settings.model_copy(update={"data_dir": tmp_path / "a-file" / "data"})
    with pytest.raises(
        SettingsError, match=r"The log .*dispatch.log cannot be written: .*DATA_DIR"
    ):
        create_app(settings)
