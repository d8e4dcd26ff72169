"""What was agreed, written so that it can be taken in again."""

from __future__ import annotations

from dispatch.actions.agreement_lists import (
    one_off_cells,
    service_plan_cells,
    technician_rule_cells,
)
from dispatch.actions.lists import as_csv, one_off_list
from dispatch.intake.one_off_rows import ONE_OFF_COLUMNS, read_one_offs
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.intake.technician_rule_cells import TECHNICIAN_RULE_COLUMNS
from tests.store.values import (
    BARE_SITE,
    BARE_TECHNICIAN,
    FULL_SITE,
    FULL_TECHNICIAN,
    ONE_OFFS,
)


def test_one_off_work_is_the_same_after_export_and_import() -> None:
    """The owner changes a date in a spreadsheet and nothing else changes."""
    text = as_csv(one_off_list(ONE_OFFS))
    assert read_one_offs(text, ["S001", "S003"], known_technicians=["T1"]) == ONE_OFFS


def test_what_is_usual_stays_empty() -> None:
    """A table full of defaults hides what was agreed."""
    rules = technician_rule_cells(BARE_TECHNICIAN)
    assert {name: cell for name, cell in rules.items() if cell is not None} == {}
    bare = service_plan_cells(BARE_SITE.plan)
    filled = {name for name, cell in bare.items() if cell not in (None, "")}
    assert filled == {"rhythm", "service_min", "allowed_weekdays"}


def test_every_cell_has_a_column_of_the_import() -> None:
    """A cell without a column would be lost on the way."""
    assert set(one_off_cells(ONE_OFFS[0])) == {column.name for column in ONE_OFF_COLUMNS}
    assert set(service_plan_cells(FULL_SITE.plan)) <= {column.name for column in SITE_COLUMNS}
    known = {column.name for column in TECHNICIAN_RULE_COLUMNS}
    assert set(technician_rule_cells(FULL_TECHNICIAN)) <= known


def test_persons_of_the_weekdays_are_one_number_where_they_are_alike() -> None:
    """As people would write it."""
    assert technician_rule_cells(FULL_TECHNICIAN)["persons"] == "1;2;2;1;1;1;1"
