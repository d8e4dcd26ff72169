"""Taking back what a record did to the register of its site's equipment."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from sqlmodel import Session

from dispatch.errors import InvalidValue
from dispatch.records.record import VisitRecord
from dispatch.records.site_after import site_after
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.equipment_moves import (
    Moves,
    moves_between,
    read_moves,
    taken_back,
    with_facts,
)
from dispatch.store.records import read_records


def without_record(
    session: Session, settings: Settings, site: Site, record_id: str
) -> tuple[Site, dict[str, Moves]]:
    """A site's register as it would be without one of its records.

    What the record changed goes back to what it was, unless it was changed since. What other
    records say of the same facts counts again: it was hidden by the later date of this one.

    Returns
    -------
    site, moves
        The site, and the moves of other records that are others without this one, by record.
    """
    known = read_moves(session, site.id)
    own = known.pop(record_id, {})
    base = replace(site, equipment=taken_back(site.equipment, own))
    restored = moves_between(site.equipment, base.equipment)
    changed = _relinked(own, known, restored)
    if not restored:
        return base, changed
    for other in read_records(session, settings.zone, site_id=site.id):
        if other.record.id == record_id:
            continue
        again = _moves_of(base, other.record, settings, restored)
        if again:
            facts = {name: new for name, (_, new) in again.items()}
            base = replace(base, equipment=with_facts(base.equipment, facts))
            before = changed.get(other.record.id) or known.get(other.record.id, {})
            changed[other.record.id] = {**before, **again}
    return base, changed


def has_known_moves(session: Session, record: VisitRecord) -> bool:
    """Whether it is known what a record changed; not of upkeep from before that was noted."""
    return not record.upkeep or record.id in read_moves(session, record.site_id)


def _relinked(
    own: Moves, known: Mapping[str, Moves], restored: Collection[str]
) -> dict[str, Moves]:
    """Later moves that began where this record's ended begin where it began."""
    found = {}
    for record_id, moves in known.items():
        links = {
            name: [own[name][0], new]
            for name, (old, new) in moves.items()
            if name in own and name not in restored and old == own[name][1]
        }
        if links:
            found[record_id] = {**moves, **links}
    return found


def _moves_of(site: Site, record: VisitRecord, settings: Settings, names: Collection[str]) -> Moves:
    """What a record would change now, of the facts named alone."""
    try:
        after = site_after(site, record, settings.zone)
    except InvalidValue:  # the thing it was done on has been replaced by another since
        return {}
    moves = moves_between(site.equipment, after.equipment)
    return {name: pair for name, pair in moves.items() if name in names}
