"""Taking back what a record did to its site: the last visit and the register of equipment."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from sqlmodel import Session

from dispatch.errors import InvalidValue
from dispatch.one_offs import work_id_of
from dispatch.records.record import VisitRecord
from dispatch.records.site_after import site_after
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.records import read_last_day, read_records
from dispatch.store.site_moves import (
    LAST_VISIT,
    THINGS,
    Moves,
    moves_between,
    read_moves,
    taken_back_with,
    thing_of,
    with_facts,
)


def without_record(
    session: Session, settings: Settings, site: Site, record: VisitRecord
) -> tuple[Site, dict[str, Moves]]:
    """A site as it would be without one of its records, which is given as it stands.

    What the record changed goes back to what it was, unless it was changed since. What other
    records say of the same facts counts again: it was hidden by the later date of this one. Other
    records of its day may have built upon it, as a pressure upon a cleaning, so what they changed
    goes back with it and is judged anew.

    Returns
    -------
    site, moves
        The site, and the moves of other records that are others without this one, by record.
    """
    known = read_moves(session, site.id)
    own = {**_last_visit_moved(session, record), **known.pop(record.id, {})}
    others = read_records(session, settings.zone, site_id=site.id)
    others = [one for one in others if one.record.id != record.id]
    same_day = {one.record.id for one in others if one.record.day == record.day}
    base, left = taken_back_with(site, own, {key: known[key] for key in same_day & known.keys()})
    restored = _changed(site, base)
    changed = {**_relinked(own, known, restored), **left}
    if not restored:
        return base, changed
    for other in others:
        before = changed.get(other.record.id) or known.get(other.record.id, {})
        again = _moves_of(base, other.record, settings, restored, before)
        if again:
            facts = {name: new for name, (_, new) in again.items()}
            base = with_facts(base, facts)
            changed[other.record.id] = {**before, **again}
    return base, changed


def has_known_moves(session: Session, record: VisitRecord) -> bool:
    """Whether it is known what a record changed; not of upkeep from before that was noted."""
    return not record.upkeep or record.id in read_moves(session, record.site_id)


def _relinked(
    own: Moves, known: Mapping[str, Moves], restored: Collection[str]
) -> dict[str, Moves]:
    """Later moves that began where this record's ended begin where it began.

    A thing that this record entered and of which others tell goes with the last of them.
    """
    found = {}
    for record_id, moves in known.items():
        links = {
            name: [own[name][0], new]
            for name, (old, new) in moves.items()
            if name in own and name not in restored and old != new and old == own[name][1]
        }
        told_of = {thing_of(name) for name, (old, new) in moves.items() if old != new}
        for thing in told_of & THINGS.keys() & own.keys() - moves.keys() - set(restored):
            links[thing] = own[thing]
        if links:
            found[record_id] = {**moves, **links}
    return found


def _moves_of(
    site: Site, record: VisitRecord, settings: Settings, restored: Collection[str], before: Moves
) -> Moves:
    """What a record would change now, of the things of which something was restored.

    A fact that this very record had made, and that was not restored, was changed since and stays.
    """
    try:
        after = site_after(site, record, settings.zone)
    except InvalidValue:  # the thing it was done on has been replaced by another since
        return {}
    things = {thing_of(name) for name in restored}
    return {
        name: pair
        for name, pair in _changed(site, after).items()
        if name in restored or (thing_of(name) in things and not _has_made(before, name))
    }


def _has_made(moves: Moves, name: str) -> bool:
    return name in moves and moves[name][0] != moves[name][1]


def _changed(before: Site, after: Site) -> Moves:
    moves = moves_between(before, after)
    return {name: [old, new] for name, (old, new) in moves.items() if old != new}


def _last_visit_moved(session: Session, record: VisitRecord) -> Moves:
    """What a record of before it was noted did to the last visit, as far as other records tell."""
    if record.skipped or work_id_of(record.visit_id or ""):
        return {}
    earlier = read_last_day(session, record.site_id, record.day)
    return {LAST_VISIT: [earlier and str(earlier), str(record.day)]}
