"""Which equipment a row speaks of."""

from datetime import date

import pytest

from dispatch.intake.cells import Cells
from dispatch.intake.equipment_cells import read_equipment
from dispatch.intake.site_columns import SITE_COLUMNS
from dispatch.intake.table import Row
from dispatch.sites import Anode, Equipment, Filter, Media, SaltCell, Sanitizer

EMPTY = {column.name: "" for column in SITE_COLUMNS}


def read(given: dict[str, str], sanitizer: Sanitizer = Sanitizer.CHLORINE) -> Equipment:
    cells = Cells(Row(2, EMPTY | given))
    equipment = read_equipment(cells, sanitizer, None)
    assert cells.problems == []
    return equipment


def test_a_row_that_says_nothing_has_no_equipment() -> None:
    """Nothing is invented that upkeep would then ask for."""
    assert read({}) == Equipment()


def test_a_filter_without_a_date_is_there_and_undated() -> None:
    """Its media change is listed as unknown rather than forgotten."""
    assert read({"filter": "de"}) == Equipment(filter=Filter(Media.DE))


@pytest.mark.parametrize(
    ("given", "anode"),
    [
        ({"anode_installed_on": "unknown"}, Anode()),
        ({"anode_cleaned_on": "2026-05-20"}, Anode(None, date(2026, 5, 20))),
        ({"anode_installed_on": "2024-05-02"}, Anode(date(2024, 5, 2))),
    ],
)
def test_either_date_or_the_word_unknown_says_that_there_is_an_anode(
    given: dict[str, str], anode: Anode
) -> None:
    """There is no column for the anode itself."""
    assert read(given).anode == anode


def test_a_salt_pool_has_a_cell_even_without_dates() -> None:
    """Salt is made by a cell; an undated one is listed as unknown."""
    assert read({}, Sanitizer.SALT).salt_cell == SaltCell()
    assert read({"cell_installed_on": "unknown"}, Sanitizer.SALT).salt_cell == SaltCell()
    assert read({}, Sanitizer.BROMINE).salt_cell is None
