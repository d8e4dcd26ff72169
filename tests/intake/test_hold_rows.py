"""Tables of holds."""

from datetime import date

import pytest

from dispatch.errors import ImportRejected
from dispatch.intake.hold_rows import read_holds
from dispatch.intake.table import RowProblem
from dispatch.sites import Hold

KNOWN = ("S001", "S002")


def problems(text: str) -> list[str]:
    with pytest.raises(ImportRejected) as caught:
        read_holds(text, KNOWN)
    return [p.sentence for p in caught.value.problems if isinstance(p, RowProblem)]


def test_holds_are_read_in_the_order_of_the_table() -> None:
    """Several holds of one site are fine, as are overlapping ones."""
    text = (
        "site_id,first_day,last_day,reason\n"
        "S002,2026-12-01,2026-12-10,away\n"
        "S002,2026-12-05,2027-01-03,\n"
    )
    assert read_holds(text, KNOWN) == [
        Hold("S002", date(2026, 12, 1), date(2026, 12, 10), "away"),
        Hold("S002", date(2026, 12, 5), date(2027, 1, 3), ""),
    ]


def test_every_bad_row_is_in_one_report() -> None:
    """Unknown site, days swapped, no last day, no date, the same hold twice."""
    text = (
        "site_id,first_day,last_day\n"
        "S01,2026-12-01,2026-12-02\n"
        "S001,2026-12-05,2026-12-01\n"
        "S001,2026-12-05,\n"
        "S002,12/05/2026,2026-12-09\n"
        "S002,2026-12-01,2026-12-09\n"
        "S002,2026-12-01,2026-12-08\n"
    )
    found = problems(text)
    expected = [
        ("Line 2, column site_id", "no site 'S01' in the book"),
        ("Line 3, column last_day", "swap the two days"),
        ("Line 4, column last_day", "The cell is empty"),
        ("Line 5, column first_day", "year-month-day"),
        ("Line 7, column first_day", "stands on line 6"),
    ]
    assert len(found) == len(expected)
    for sentence, (where, what) in zip(found, expected, strict=True):
        assert sentence.startswith(where)
        assert what in sentence
