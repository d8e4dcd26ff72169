"""What a reading transaction has read already: it sees one state, and need not ask anew."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from sqlmodel import Session

Row = TypeVar("Row")

KEPT = "kept"  # of a session: lists read so far, by name


def keep_what_is_read(session: Session) -> None:
    """Let a session that cannot write remember the lists that `read_once` reads."""
    session.info[KEPT] = {}


def read_once(session: Session, name: str, read: Callable[[], list[Row]]) -> list[Row]:
    """The list of this name: read anew where the session may write, else once."""
    kept: dict[str, list[Row]] | None = session.info.get(KEPT)
    if kept is None:
        return read()
    if name not in kept:
        kept[name] = read()
    return list(kept[name])
