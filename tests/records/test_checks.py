"""A record beside what is known."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date
from typing import Any

import pytest

from dispatch.errors import InvalidValue
from dispatch.records.checks import (
    Known,
    check_record,
    odd_about,
    photos_missing,
    without_photos,
)
from tests.records.samples import DAY, NOW, record

KNOWN = Known(
    site_ids={"S1"},
    technician_ids={"T1", "T2"},
    planned={"S1/2026-W48/1": ("T1", DAY)},
    recorded={},
    photos=set(),
    today=date(2026, 11, 25),
    now=NOW,
    zone=UTC,
)
VISIT = "S1/2026-W48/1"


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"site_id": "S9"}, "no site 'S9'"),
        ({"technician_id": "T9"}, "no technician 'T9'"),
        ({"day": "2026-11-26"}, "after today"),
        ({"day": "2016-11-23"}, "ten years"),
        ({"left_at": "2026-11-25T20:11:00Z"}, "clock"),
        ({"technician_id": "T2", "visit_id": VISIT}, "planned for technician T1"),
    ],
)
def test_what_cannot_have_happened_is_refused(fields: dict[str, Any], words: str) -> None:
    """The record is set aside with this sentence, so it must say what to mend."""
    with pytest.raises(InvalidValue, match=words):
        check_record(record(**fields), KNOWN)


def test_a_clock_a_few_minutes_fast_is_no_fault() -> None:
    """Phones' clocks differ; ten minutes are let pass."""
    check_record(record(left_at="2026-11-25T20:09:00Z"), KNOWN)


def test_a_visit_taken_over_is_kept_and_flagged() -> None:
    """Technicians swap pools; whoever says so is believed."""
    swapped = record(technician_id="T2", visit_id=VISIT, took_over=True)
    check_record(swapped, KNOWN)
    assert odd_about(swapped, KNOWN) == ("T2 took the visit over from T1.",)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"left_at": "2026-11-23T21:00:00Z"}, "5.0 hours at the pool"),
        ({"left_at": "2026-11-23T18:40:00Z"}, "2.7 hours at the pool"),
        ({"left_at": "2026-11-23T16:01:00Z"}, "very short"),
        ({"left_at": None}, "departure is missing"),
        ({"arrived_at": None, "left_at": None}, "arrival is missing"),
        ({"day": "2026-11-22"}, "does not lie on 2026-11-22"),
        ({"visit_id": "S1/2026-W01/1"}, "No plan has the visit"),
        ({"readings": [{"kind": "filter-pressure", "value": 18}]}, "18 psi is 124 kPa"),
    ],
)
def test_what_is_odd_is_flagged_and_kept(fields: dict[str, Any], words: str) -> None:
    """Nothing is lost because it is strange."""
    found = record(**fields)
    check_record(found, KNOWN)
    assert any(words in flag for flag in odd_about(found, KNOWN))


def test_photos_are_missed_until_they_have_arrived() -> None:
    """They follow the record, so that what is kept with it says nothing of them."""
    found = record(photos=["ab", "cd"])
    assert odd_about(found, KNOWN) == ()
    assert photos_missing(found, {"ab"}) == ("1 of 2 photos have not arrived yet.",)
    assert photos_missing(found, {"ab", "cd"}) == ()


def test_what_an_earlier_version_kept_about_photos_is_left_out() -> None:
    """Its sentence stayed with the record when the photos had long come."""
    kept = ("The arrival is missing.", "2 of 2 photos have not arrived yet.")
    assert without_photos(record(photos=["ab", "cd"]), kept) == kept[:1]


def test_a_usual_record_has_no_flags() -> None:
    """Flags that are always there are never read."""
    assert odd_about(record(visit_id=VISIT), KNOWN) == ()


def test_a_long_visit_with_upkeep_is_not_odd() -> None:
    """A sand change takes two hours and more."""
    long = record(left_at="2026-11-23T18:40:00Z", upkeep=[{"kind": "sand-change"}])
    assert odd_about(long, KNOWN) == ()


def test_a_second_record_of_a_visit_is_flagged() -> None:
    """Two technicians who both recorded the same visit are one too many."""
    known = replace(KNOWN, recorded={VISIT: "another"})
    assert any(
        "another record already" in flag for flag in odd_about(record(visit_id=VISIT), known)
    )
