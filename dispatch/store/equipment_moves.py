"""What a record changed in the register of its site's equipment, so that it can be taken back.

A move is a fact of the register by the name of its column, with what it was before and after the
record, as JSON.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import select, update
from sqlmodel import Session

from dispatch.equipment import Equipment
from dispatch.errors import InvalidValue
from dispatch.store.equipment_rows import equipment_columns, equipment_of
from dispatch.store.record_tables import RecordRow
from dispatch.store.tables import table_of

Facts = dict[str, Any]
Moves = dict[str, list[Any]]  # by column: before and after

# Columns that say whether a thing is there at all.
PRESENCE = ("filter_media", "has_anode", "has_salt_cell", "has_pump", "has_heater", "has_covers")


def moves_between(before: Equipment, after: Equipment) -> Moves:
    """The facts in which two states of a register differ."""
    old, new = _facts(before), _facts(after)
    return {name: [old[name], new[name]] for name in old if old[name] != new[name]}


def taken_back(equipment: Equipment, moves: Mapping[str, list[Any]]) -> Equipment:
    """The register with what it was before the moves, where it still is what they made it.

    A fact that somebody changed since stays, and so does the thing it is a fact of.
    """
    facts = _facts(equipment)
    back = {name: old for name, (old, new) in moves.items() if facts.get(name) == new}
    return with_facts(equipment, back)


def with_facts(equipment: Equipment, changes: Facts) -> Equipment:
    """The register with some facts changed; as it was where they would contradict each other."""
    changes = dict(changes)
    for name in PRESENCE:
        if name in changes and not changes[name] and _loses(equipment, changes):
            del changes[name]
    try:
        return _equipment(_facts(equipment) | changes)
    except InvalidValue:
        return equipment


def write_moves(session: Session, moves: Mapping[str, Moves]) -> None:
    """Note the moves of records by their ids."""
    table = table_of(RecordRow)
    for record_id, one in moves.items():
        session.execute(update(table).where(table.c.id == record_id).values(moved=one))


def read_moves(session: Session, site_id: str) -> dict[str, Moves]:
    """The moves of a site's records by their ids; records without any that are known left out."""
    table = table_of(RecordRow)
    query = select(table.c.id, table.c.moved).where(table.c.site_id == site_id)
    return {record_id: moved for record_id, moved in session.execute(query) if moved is not None}


def _loses(equipment: Equipment, changes: Facts) -> bool:
    """Whether a thing would go of which something is known."""
    facts = _facts(equipment) | changes
    return _facts(_equipment(facts)) != facts


def _facts(equipment: Equipment) -> Facts:
    columns = equipment_columns(equipment)
    return {name: str(one) if isinstance(one, date) else one for name, one in columns.items()}


def _equipment(facts: Facts) -> Equipment:
    return equipment_of(
        {
            name: date.fromisoformat(one) if name.endswith("_on") and one else one
            for name, one in facts.items()
        }
    )
