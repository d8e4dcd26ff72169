"""Addresses in columns."""

from __future__ import annotations

import pytest

from dispatch.drive.address_table import AddressTable
from dispatch.drive.extract import Address

HOMES = [
    Address("Oak Street", "2", "Millbrook", "00002", 10.0, 20.0),
    Address("Elm Street", "1", "Millbrook", "", 10.1, 20.0),
    Address("Oak Street", "4", "", "", 10.0, 20.1, within_range=True),
]


def test_addresses_come_out_as_they_went_in() -> None:
    """Row by row, sliced, from the end, and with the words they share."""
    table = AddressTable.of(HOMES)
    assert list(table) == HOMES
    assert table[-1] == HOMES[2]
    assert list(table[1:]) == HOMES[1:]
    assert table == AddressTable.of(HOMES)
    assert table != AddressTable.of(HOMES[:2])
    assert len(table.words) == len(
        {"Oak Street", "2", "Millbrook", "00002", "Elm Street", "1", "", "4"}
    )
    with pytest.raises(IndexError):
        table[3]


def test_rows_are_found_by_street() -> None:
    """In the order of the map."""
    rows = AddressTable.of(HOMES).rows_by_street()
    assert {street: found.tolist() for street, found in rows.items()} == {
        "Oak Street": [0, 2],
        "Elm Street": [1],
    }
    assert AddressTable.of([]).rows_by_street() == {}
