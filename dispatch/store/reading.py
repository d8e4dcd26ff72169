"""What has been read already and is the same still, so that it need not be read anew."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Pool
from sqlmodel import Session

from dispatch.store.records import read_state

Row = TypeVar("Row")
Found = TypeVar("Found")

KEPT = "kept"  # of a session: lists read so far, by name
MOST_KEPT = 6  # answers from the records of one database

_ANSWERS: WeakKeyDictionary[Pool, dict[Hashable, tuple[Hashable, Any]]] = WeakKeyDictionary()


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


def read_while_records_stand(session: Session, asked: Hashable, read: Callable[[], Found]) -> Found:
    """The answer to what is asked of all records, read anew once one came in or was corrected.

    Whoever gets it must leave it as it is. `asked` tells the question from all others.
    """
    if KEPT not in session.info:  # may see records that nobody else will ever see
        return read()
    state = read_state(session)
    answers = _ANSWERS.setdefault(session.get_bind().engine.pool, {})
    known = answers.pop(asked, None)
    if known is None or known[0] != state:
        known = (state, read())
    answers[asked] = known
    while len(answers) > MOST_KEPT:
        answers.pop(next(iter(answers)), None)
    found: Found = known[1]
    return found
