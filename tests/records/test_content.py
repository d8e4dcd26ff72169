"""Records as they are exchanged."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.errors import InvalidValue
from dispatch.readings import ReadingKind
from dispatch.records.content import content_of, digest_of, record_of
from dispatch.water.products import Product
from tests.records.samples import content, full_content, record


def test_content_survives_the_round_trip() -> None:
    """What is stored is the content; it must give the same record back, through JSON too."""
    first = record_of(full_content(), UTC)
    again = record_of(json.loads(json.dumps(content_of(first))), UTC)
    assert again == first
    assert digest_of(again) == digest_of(first)


def test_a_time_without_offset_is_local() -> None:
    """Paper sheets have local times: 9:00 in Phoenix is 16:00 UTC (no daylight saving there)."""
    found = record_of(content(arrived_at="2026-11-23T09:00"), ZoneInfo("America/Phoenix"))
    assert found.arrived_at == datetime(2026, 11, 23, 16, tzinfo=UTC)


def test_units_are_kept_apart_from_words() -> None:
    """psi become kPa, 'bleach' is liquid chlorine, and two bags of salt are 80 lb."""
    found = record_of(full_content(), UTC)
    assert found.readings[2].value == pytest.approx(199.948)
    assert found.products[0].product is Product.LIQUID_CHLORINE
    assert found.products[1].mass_kg == pytest.approx(36.287, abs=0.001)  # 80 x 0.45359237
    assert found.value(ReadingKind.FILTER_PRESSURE) == pytest.approx(124.1056)  # the later one


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"id": "17"}, "no id of a record"),
        ({"id": "0B6F6F0E-8F5B-4A53-9D0E-5D2A5F7F2C11"}, "lower case"),
        ({"site_id": ""}, "'site_id' is missing"),
        ({"day": "11/23/2026"}, "no date"),
        ({"reading": []}, "Did you mean 'readings'"),
        ({"readings": {"ph": 7}}, "must be a list"),
        ({"readings": [{"kind": "pH level", "value": 7}]}, "no kind of reading"),
        ({"readings": [{"kind": "ph", "value": "seven"}]}, "no number"),
        ({"readings": [{"kind": "ph"}]}, "no value"),
        ({"readings": [{"kind": "ph", "value": True}]}, "no number"),
        ({"readings": [{"kind": "ph", "value": -7}]}, "not possible"),
        ({"arrived_at": "nine"}, "no time"),
        ({"arrived_at": "2026-11-23T17:00:00Z"}, "before the arrival"),
        ({"products": [{"product": "potion", "amount": 1, "unit": "l"}]}, "no product"),
        ({"products": [{"product": "salt", "amount": 1, "unit": "handful"}]}, "cannot be given"),
        ({"products": [{"product": "salt", "amount": -1, "unit": "lb"}]}, "not believable"),
        (
            {"products": [{"product": "acid", "amount": 1, "unit": "qt", "strength": 300}]},
            "strength",
        ),
        ({"upkeep": [{"kind": "anode-cleaning", "remaining_share": 60}]}, "share"),
        ({"seen": ["a ghost"]}, "no seen"),
        ({"work": [7]}, "as text"),
        ({"work": [""]}, "characters"),
        ({"work": ["x" * 1001]}, "1 to 1000"),
        ({"note": "x" * 2001}, "at most 2000"),
        ({"skipped": "gate locked", "work": ["brushed"]}, "skipped"),
        ({"photos": ["a"] * 61}, "60 at most"),
    ],
)
def test_what_cannot_be_read_is_named(fields: dict[str, Any], words: str) -> None:
    """Each sentence holds the thing, its value and the mend."""
    with pytest.raises(InvalidValue, match=words):
        record(**fields)


@pytest.mark.parametrize("wrong", [None, 7, "text", [], [1]])
def test_anything_but_an_object_is_refused(wrong: object) -> None:
    """A phone that sends a list of records to the place for one is told so."""
    with pytest.raises(InvalidValue, match="object"):
        record_of(wrong, UTC)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=8,
)


@given(st.sampled_from(sorted(full_content())), JSON)
def test_nothing_but_a_domain_error_comes_of_any_content(name: str, value: object) -> None:
    """Whatever a phone sends in a field, the answer is a sentence and never a crash."""
    try:
        found = record_of({**full_content(), name: value}, UTC)
    except InvalidValue:
        return
    assert record_of(content_of(found), UTC) == found
