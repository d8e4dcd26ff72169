"""Entries of phones: what is read strictly, and what is said of a wrong clock."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from dispatch.day.events import EventKind
from dispatch.errors import InvalidValue
from dispatch.phone.entry import clock_words, entry_of, moment_of

GOOD = {
    "id": "1d1a2a3f-54c3-4d0e-8a4e-0c2e1f3b5a77",
    "number": 7,
    "technician_id": "T1",
    "day": "2026-11-30",
    "kind": "skipped",
    "at": "2026-11-30T16:05:00Z",
    "visit_id": "S1/2026-W49/1",
    "reason": "dog",
}
NOW = datetime(2026, 11, 30, 16, 0, tzinfo=UTC)


def test_an_entry_is_read_whole() -> None:
    """Everything that was sent has its place."""
    entry = entry_of(GOOD)
    assert (entry.kind, entry.number, entry.reason) == (EventKind.SKIPPED, 7, "dog")
    assert entry.at == datetime(2026, 11, 30, 16, 5, tzinfo=UTC)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"id": "1"}, "no id of an entry"),
        ({"id": "1D1A2A3F-54C3-4D0E-8A4E-0C2E1F3B5A77"}, "lower case"),
        ({"number": -1}, "no number of an entry"),
        ({"number": True}, "no number of an entry"),
        ({"kind": "published"}, "cannot enter 'published'"),
        ({"kind": "dance"}, "nothing that a phone enters"),
        ({"at": "2026-11-30T16:05:00"}, "time zone"),
        ({"visit_id": ""}, "needs the visit"),
        ({"reason": "rain"}, "no reason to skip"),
        ({"note": "x" * 2001}, "2000 characters"),
        ({"technician_id": ""}, "its technician"),
        ({"record": ["ph"]}, "object with named fields"),
        ({"colour": "red"}, "no field 'colour'"),
        ({"note": 7}, "no text"),
    ],
)
def test_what_cannot_be_used_is_named(wrong: dict[str, Any], words: str) -> None:
    """The office reads the sentence beside what was set aside."""
    with pytest.raises(InvalidValue, match=words):
        entry_of({**GOOD, **wrong})


def test_no_object_is_no_entry() -> None:
    """A list or a text is a fault of the sender's program."""
    with pytest.raises(InvalidValue, match="named fields"):
        entry_of(["started"])


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (5, ""),
        (-5, ""),
        (6, "6 minutes ahead"),
        (-90, "90 minutes behind"),
        (180, "3 hours ahead"),
    ],
)
def test_a_clock_off_by_more_than_five_minutes_is_told(minutes: int, words: str) -> None:
    """Five minutes are those of `CLOCK_SLACK`; less is nobody's fault."""
    said = clock_words(NOW + timedelta(minutes=minutes), NOW)
    assert words in said
    assert bool(words) == bool(said)


@pytest.mark.parametrize("text", ["", "noon", None, 7, "2026-11-30T16:05:00"])
def test_a_moment_needs_its_zone(text: object) -> None:
    """Without it nobody knows when that was."""
    with pytest.raises(InvalidValue):
        moment_of(text)


@pytest.mark.parametrize("text", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00"])
def test_a_moment_at_the_end_of_all_calendars_is_refused(text: str) -> None:
    """It has no equal in UTC: the service would fail at it, and the phone send it for ever."""
    with pytest.raises(InvalidValue, match="is no moment"):
        moment_of(text)
