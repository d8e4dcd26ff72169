"""Follow-ups that arise from a record by themselves."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from dispatch.records.follow_ups import FollowUpKind, follow_ups_of
from dispatch.words import reading_in
from tests.pseudo import CODE, pseudo_language
from tests.records.samples import DAY, record


def asked(**fields: Any) -> list[tuple[FollowUpKind, int, bool]]:
    """Kind, days until due and urgency of what a record asks for."""
    found = follow_ups_of(record(**fields))
    return [(one.kind, (one.due_on - DAY).days, one.urgent) for one in found]


def chlorine(value: float, *products: str) -> dict[str, Any]:
    added = [{"product": name, "amount": 16, "unit": "fl oz"} for name in products]
    return {"readings": [{"kind": "free-chlorine", "value": value}], "products": added}


@pytest.mark.parametrize(
    "seen",
    ["drain-cover-loose", "drain-cover-cracked", "drain-cover-missing", "drain-cover-expired"],
)
def test_a_bad_drain_cover_closes_the_pool(seen: str) -> None:
    """A loose cover holds people under water: urgent, the next day at the latest."""
    assert asked(seen=[seen]) == [(FollowUpKind.CLOSE_POOL, 1, True)]


def test_a_drain_that_cannot_be_seen_closes_the_pool() -> None:
    """Clarity is a hard stop for bathing: nobody sees a swimmer on the floor."""
    assert asked(seen=["main-drain-not-visible"]) == [(FollowUpKind.CLOSE_POOL, 1, True)]


@pytest.mark.parametrize(
    ("fields", "days"),
    [
        (chlorine(0.4), 1),
        (chlorine(0.4, "bleach"), 2),
        (chlorine(0.4, "acid"), 1),
        (chlorine(12.0), 2),
        (chlorine(12.0, "bleach"), 1),
        ({"readings": [{"kind": "ph", "value": 8.4}]}, 1),
        (
            {
                "readings": [{"kind": "ph", "value": 8.4}],
                "products": [{"product": "acid", "amount": 10, "unit": "fl oz"}],
            },
            2,
        ),
    ],
)
def test_unsafe_water_is_looked_at_again(fields: dict[str, Any], days: int) -> None:
    """The next day where nothing was done about it, two days later where something was."""
    assert asked(**fields) == [(FollowUpKind.UNSAFE_WATER, days, False)]


def test_a_part_is_due_in_three_days() -> None:
    """One for each part, because they arrive apart."""
    found = asked(parts_to_order=["Lid o-ring", "Shaft seal"])
    assert found == [(FollowUpKind.PART, 3, False)] * 2


def test_every_follow_up_is_due_within_three_days() -> None:
    """A follow-up that may wait longer would be upkeep."""
    everything = record(
        seen=["green-water", "leak", "no-flow", "drain-cover-loose"],
        parts_to_order=["Lid o-ring"],
        **chlorine(0.0),
    )
    for one in follow_ups_of(everything):
        assert timedelta(days=1) <= one.due_on - DAY <= timedelta(days=3)
        assert one.minutes > 0
    assert follow_ups_of(everything)[0].urgent


def test_a_usual_record_asks_for_nothing() -> None:
    """Water within the code and nothing seen: the next visit is the next visit."""
    assert asked(**chlorine(2.0)) == []


def test_the_same_reason_is_the_same_follow_up() -> None:
    """A record corrected elsewhere must not ask for the same thing anew."""
    first, again = (follow_ups_of(record(seen=["leak"], note=note)) for note in ("", "corrected"))
    assert [one.id for one in first] == [one.id for one in again]


def test_a_follow_up_is_the_same_one_in_every_language() -> None:
    """The office corrects a note in its own language: no job is asked for anew, none is lost."""
    covers = record(seen=["drain-cover-loose", "leak"], **chlorine(0.4))
    english = follow_ups_of(covers)
    with pseudo_language(), reading_in(CODE):
        others = follow_ups_of(covers)
    assert [one.id for one in others] == [one.id for one in english]
    assert all(one.reason.startswith("⟦") for one in others)
