from __future__ import annotations

import stat
from pathlib import Path

import pytest

from dispatch.errors import KeyLost
from dispatch.gate_keys import add_key, is_sealed, keep_newest_key, open_sealed, seal


@pytest.mark.parametrize("code", ["#1234", "7", "Ünïcödé *9#", "x" * 200])
def test_what_is_sealed_opens_again_and_shows_nothing(code: str, tmp_path: Path) -> None:
    """The round trip is all that a technician needs of it."""
    file = tmp_path / "gate_codes.key"
    sealed = seal(code, file)

    assert is_sealed(sealed)
    assert code not in sealed or len(code) == 1
    assert open_sealed(sealed, file) == code
    assert seal(code, file) != sealed  # equal codes of two sites must not look equal


def test_no_code_needs_no_key(tmp_path: Path) -> None:
    """Most gates have none; a new company must not meet the key at all."""
    file = tmp_path / "gate_codes.key"
    assert seal("", file) == ""
    assert open_sealed("", file) == ""
    assert not file.exists()


def test_the_key_file_is_for_its_owner_alone(tmp_path: Path) -> None:
    """Other accounts of the machine must not read it (mode 600)."""
    file = tmp_path / "gate_codes.key"
    seal("#1", file)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_codes_survive_a_new_key_and_the_old_one_is_forgotten(tmp_path: Path) -> None:
    """Between the two steps both keys work, so that a rotation broken off loses nothing."""
    file = tmp_path / "gate_codes.key"
    old = seal("#1", file)
    add_key(file)
    new = seal("#1", file)
    assert open_sealed(old, file) == open_sealed(new, file) == "#1"
    keep_newest_key(file)
    assert open_sealed(new, file) == "#1"
    with pytest.raises(KeyLost):
        open_sealed(old, file)


@pytest.mark.parametrize("content", [None, "", "no key at all\n", "é"])
def test_a_lost_key_is_told_with_the_mend(content: str | None, tmp_path: Path) -> None:
    """The codes are gone without it; the words must say where to look, not show a traceback."""
    file = tmp_path / "gate_codes.key"
    sealed = seal("#1", file)
    file.unlink()
    if content is not None:
        file.write_text(content, encoding="utf-8")
    with pytest.raises(KeyLost, match="backup"):
        open_sealed(sealed, file)
