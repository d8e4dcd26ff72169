"""What a table does not say of something known: a column that is missing leaves what is there.

An empty cell empties; only a column that the whole table lacks is filled with what the book has.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dispatch.intake.table import Row, Table

Known = Mapping[str, Mapping[str, str]]  # cells by id, then by column

# Columns that say the same in another way: with one of them there, the other is not filled.
INSTEAD: tuple[tuple[frozenset[str], frozenset[str]], ...] = (
    (frozenset({"pool_volume_gal"}), frozenset({"pool_volume_l"})),
    (frozenset({"start_address"}), frozenset({"start_lat", "start_lon"})),
    (frozenset({"end_address"}), frozenset({"end_lat", "end_lon"})),
    (frozenset({"supply_address"}), frozenset({"supply_lat", "supply_lon"})),
)


def with_known(table: Table, known: Known) -> tuple[Row, ...]:
    """The rows of a table, those of known ids with the columns that the table lacks."""
    there = frozenset(table.names)
    given = {name for ours, others in INSTEAD if ours & there for name in others}
    lacking = [name for row in table.rows[:1] for name in row.cells if name not in there | given]
    return tuple(
        Row(row.line, _filled(row, known[row.cells["id"]], lacking))
        if row.cells.get("id") in known
        else row
        for row in table.rows
    )


def _filled(row: Row, known: Mapping[str, str], lacking: Sequence[str]) -> Mapping[str, str]:
    """Cells of one row; a new address is looked up, the old place would be that of the old one.

    Whoever empties the e-mail address ends what was told there.
    """
    moved = bool(row.cells.get("address")) and row.cells["address"] != known.get("address", "")
    place = {"lat", "lon"} if moved and "address" not in lacking else set[str]()
    ended = {"notices"} if "email" not in lacking and not row.cells.get("email") else set[str]()
    return {
        name: known.get(name, "") if name in lacking and name not in place | ended else cell
        for name, cell in row.cells.items()
    }
