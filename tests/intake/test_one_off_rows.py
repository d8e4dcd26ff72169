"""Tables of one-off work."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest

from dispatch.errors import ImportRejected
from dispatch.intake.one_off_rows import ONE_OFF_COLUMNS, read_one_offs
from dispatch.intake.table import RowProblem
from dispatch.one_offs import OneOff
from dispatch.service_plan import VisitKind

TODAY = date(2026, 12, 4)
GOOD = {
    "id": "J1",
    "site_id": "S1",
    "title": "Mend the gate",
    "first_day": "2026-12-01",
    "last_day": "2026-12-03",
    "minutes": "45",
}


def table(*rows: dict[str, str]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, [column.name for column in ONE_OFF_COLUMNS])
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def read(*rows: dict[str, str]) -> list[OneOff]:
    return read_one_offs(table(*rows), ["S1"], known_technicians=["T1"], today=TODAY)


def problems(*rows: dict[str, str]) -> list[str]:
    with pytest.raises(ImportRejected) as caught:
        read(*rows)
    return [p.sentence for p in caught.value.problems if isinstance(p, RowProblem)]


def test_a_row_with_the_least_is_a_plain_job() -> None:
    """One person, one visit, anybody who can."""
    assert read(GOOD) == [
        OneOff(
            "J1",
            "S1",
            "Mend the gate",
            VisitKind.ONE_OFF,
            date(2026, 12, 1),
            date(2026, 12, 3),
            (45,),
        )
    ]


def test_a_green_pool_is_visited_on_days_in_a_row_unless_told_otherwise() -> None:
    """That is what makes it a burst (common practice)."""
    green = GOOD | {"kind": "Green pool", "minutes": "180;30;30"}
    assert read(green)[0].consecutive
    assert not read(green | {"consecutive": "no"})[0].consecutive


def test_the_examples_of_the_columns_make_a_row_that_can_be_read() -> None:
    """What the help shows must work."""
    row = {column.name: column.example for column in ONE_OFF_COLUMNS}
    (work,) = read_one_offs(table(row), ["S017"])
    assert (work.kind, work.minutes, work.technician_id) == (
        VisitKind.GREEN_POOL,
        (180, 30, 30),
        "T1",
    )


@pytest.mark.parametrize(
    ("cells", "column", "what"),
    [
        ({"site_id": "S9"}, "site_id", "no site 'S9'"),
        ({"technician": "T9"}, "technician", "no technician 'T9'"),
        ({"kind": "weekly"}, "kind", "write one of"),
        ({"minutes": "-30"}, "minutes", "whole number"),
        ({"minutes": "30;30;30;30"}, "minutes", "4 visits in 3 days"),
        ({"last_day": "2026-11-30"}, "last_day", "not before the first"),
        ({"last_day": "2029-11-30"}, "last_day", "at most a year"),
        ({"persons": "0"}, "persons", "persons is not believable"),
        ({"mass_kg": "9999"}, "mass_kg", "not believable"),
        ({"chemicals_kg": "9999"}, "chemicals_kg", "not believable"),
        ({"title": ""}, "title", "The cell is empty"),
        ({"done_on": "2026-12-24"}, "done_on", "lies after today"),
        ({"visited_on": "2026-12-24"}, "visited_on", "lies after today"),
    ],
)
def test_one_slip_is_one_problem(cells: dict[str, str], column: str, what: str) -> None:
    """With line, column, value and mend."""
    (found,) = problems(GOOD | cells)
    assert found.startswith(f"Line 2, column {column}")
    assert what in found


def test_the_same_id_twice_is_a_problem() -> None:
    """The second would silently replace the first."""
    (found,) = problems(GOOD, GOOD)
    assert "stands on line 2 already" in found
