from __future__ import annotations

from pathlib import Path

from tests.bench import kill_writes


def test_a_killed_writer_leaves_the_database_whole_and_no_action_half_done(tmp_path: Path) -> None:
    """Power cuts and kill -9 come in the middle of something."""
    outcome = kill_writes.run(tmp_path, kills=5)
    assert outcome.actions > 0
    assert (outcome.damaged, outcome.half_done, outcome.lost) == (0, 0, 0)
