"""Events: what cannot have happened is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from dispatch.day.events import EventKind
from dispatch.errors import InvalidValue
from tests.day.days import event


def test_an_id_must_be_a_uuid_in_its_one_spelling() -> None:
    """Two spellings of one id would count as two events."""
    good = event(1, EventKind.NOTE)
    for bad in ("1", good.id.replace("-", "")):
        with pytest.raises(InvalidValue, match="id"):
            replace(good, id=bad)


def test_a_moment_without_a_zone_is_refused() -> None:
    """Eight o'clock is another moment in every zone."""
    with pytest.raises(InvalidValue, match="time zone"):
        replace(event(1, EventKind.NOTE), at=datetime(2026, 11, 30, 8))  # noqa: DTZ001


def test_what_is_still_to_come_has_not_happened() -> None:
    """A phone whose clock is a day ahead would end every stop before it began."""
    good = event(1, EventKind.NOTE)
    assert replace(good, at=good.received_at + timedelta(minutes=59))
    with pytest.raises(InvalidValue, match="still to come"):
        replace(good, at=good.received_at + timedelta(minutes=61))


def test_stops_need_a_visit_and_skips_a_known_reason() -> None:
    """Nobody could tell what was done, or why it was not."""
    with pytest.raises(InvalidValue, match="needs a visit"):
        event(1, EventKind.DONE, who="T1")
    with pytest.raises(InvalidValue, match="gate-locked"):
        event(1, EventKind.SKIPPED, who="T1", visit="S1/1", reason="no-mood")
    assert event(1, EventKind.SKIPPED, who="T1", visit="S1/1", reason="dog")
