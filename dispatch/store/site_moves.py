"""What a record changed at its site, so that it can be taken back.

That is the last visit and the register of equipment. A move is a fact by the name of its column,
with what it was before and after the record, as JSON.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy import bindparam, select, update
from sqlmodel import Session

from dispatch.clock import IsoWeek
from dispatch.equipment import Equipment
from dispatch.errors import InvalidValue
from dispatch.sites import Site
from dispatch.store.equipment_rows import equipment_columns, equipment_of
from dispatch.store.record_tables import RecordRow
from dispatch.store.tables import table_of

Facts = dict[str, Any]
Moves = dict[str, list[Any]]  # by column: before and after

LAST_VISIT = "last_visit_on"
# Columns that say whether a thing is there at all, and how the other columns of it begin.
THINGS = {
    "filter_media": ("filter_", "media_"),
    "has_anode": ("anode_",),
    "has_salt_cell": ("cell_",),
    "has_pump": ("pump_",),
    "has_heater": ("heater_",),
    "has_covers": ("covers_",),
}


def moves_between(before: Site, after: Site) -> Moves:
    """The facts in which two states of a site differ, and its last visit in any case.

    A record that left the last visit alone is so told from one of before it was noted here.
    """
    old, new = _facts(before), _facts(after)
    moves = {name: [old[name], new[name]] for name in old if old[name] != new[name]}
    return {LAST_VISIT: [old[LAST_VISIT], new[LAST_VISIT]], **moves}


def taken_back(site: Site, moves: Mapping[str, list[Any]]) -> Site:
    """The site with what it was before the moves, where it still is what they made it.

    A fact that somebody changed since stays, and so does the thing it is a fact of.
    """
    facts = _facts(site)
    back = {name: old for name, (old, new) in moves.items() if facts.get(name) == new}
    return with_facts(site, back)


def taken_back_with(
    site: Site, own: Moves, others: Mapping[str, Moves]
) -> tuple[Site, dict[str, Moves]]:
    """The site without the moves of a record, and without what others made of the same things.

    Of several moves of a fact each goes back as soon as it is the one that stands there.

    Returns
    -------
    site, left
        The site, and what is left of the moves of those others of which something went back.
    """
    facts = _facts(site)
    things = {thing_of(name) for name, (old, new) in own.items() if old != new} - {LAST_VISIT}
    waiting = [("", name, pair) for name, pair in own.items()]
    waiting += [
        (record_id, name, pair)
        for record_id, moves in others.items()
        for name, pair in moves.items()
        if thing_of(name) in things and pair[0] != pair[1]
    ]
    back: Facts = {}
    left = {record_id: dict(moves) for record_id, moves in others.items()}
    while going := [one for one in waiting if back.get(one[1], facts.get(one[1])) == one[2][1]]:
        record_id, name, (old, _new) = going[0]
        waiting.remove(going[0])
        back[name] = old
        if record_id:
            del left[record_id][name]
    touched = {key: moves for key, moves in left.items() if moves != others[key]}
    return with_facts(site, back), touched


def with_facts(site: Site, changes: Facts) -> Site:
    """The site with some facts changed; its register as it was where they contradict each other."""
    changes = dict(changes)
    plan = site.plan
    if LAST_VISIT in changes:
        last = changes.pop(LAST_VISIT)
        plan = replace(plan, last_visit_on=last and date.fromisoformat(last))
    return replace(site, plan=plan, equipment=_with_facts(site.equipment, changes))


def thing_of(name: str) -> str:
    """The column that says whether the thing of a fact is there; the fact itself without one."""
    return next((thing for thing, starts in THINGS.items() if name.startswith(starts)), name)


def _with_facts(equipment: Equipment, changes: Facts) -> Equipment:
    """Each thing by itself: a contradiction in one keeps nothing back in the others."""
    for thing in dict.fromkeys(map(thing_of, changes)):
        own = {name: one for name, one in changes.items() if thing_of(name) == thing}
        try:
            if thing in own and not own[thing] and _loses(equipment, own):
                del own[thing]
            equipment = _equipment(_register(equipment) | own)
        except InvalidValue:
            continue
    return equipment


def write_moves(session: Session, moves: Mapping[str, Moves]) -> None:
    """Note the moves of records by their ids."""
    if not moves:
        return
    table = table_of(RecordRow)
    noting = update(table).where(table.c.id == bindparam("of")).values(moved=bindparam("moves"))
    session.execute(noting, [{"of": of, "moves": one} for of, one in moves.items()])


def read_moves(session: Session, site_id: str) -> dict[str, Moves]:
    """The moves of a site's records by their ids; records without any that are known left out."""
    table = table_of(RecordRow)
    query = select(table.c.id, table.c.moved).where(table.c.site_id == site_id)
    return {record_id: moved for record_id, moved in session.execute(query) if moved is not None}


def before_records(session: Session, sites: Iterable[Site], week: IsoWeek) -> list[Site]:
    """The sites as they were before the records of `week`, but for what somebody changed since."""
    table = table_of(RecordRow)
    query = (
        select(table.c.site_id, table.c.moved)
        .where(table.c.day.between(week.monday, week.sunday), table.c.moved.is_not(None))
        .order_by(table.c.day.desc(), table.c.arrived_at.desc(), table.c.id)
    )
    by_id = {site.id: site for site in sites}
    for site_id, moved in session.execute(query):
        if site_id in by_id and moved:
            by_id[site_id] = taken_back(by_id[site_id], moved)
    return list(by_id.values())


def with_moved_since(session: Session, site: Site, now: Site) -> Site:
    """A site as a table has it, with what records have moved in the book since it was written.

    `now` is the site of the book. A fact of the table that is what it was before a record, and in
    the book what a record made of it, comes from a list that was written before that record.
    """
    written, known = _facts(site), _facts(now)
    apart = [name for name in known if written[name] != known[name]]
    moves = list(read_moves(session, site.id).values()) if apart else []
    late: Facts = {}
    for name in apart:
        moved = [one[name] for one in moves if name in one and one[name][0] != one[name][1]]
        befores, afters = [old for old, _ in moved], [new for _, new in moved]
        if written[name] in befores and known[name] in afters:
            late[name] = known[name]
    return with_facts(site, late) if late else site


def _loses(equipment: Equipment, changes: Facts) -> bool:
    """Whether a thing would go of which something is known."""
    facts = _register(equipment) | changes
    return _register(_equipment(facts)) != facts


def _facts(site: Site) -> Facts:
    last = site.plan.last_visit_on
    return {LAST_VISIT: last and str(last), **_register(site.equipment)}


def _register(equipment: Equipment) -> Facts:
    columns = equipment_columns(equipment)
    return {name: str(one) if isinstance(one, date) else one for name, one in columns.items()}


def _equipment(facts: Facts) -> Equipment:
    return equipment_of(
        {
            name: date.fromisoformat(one) if name.endswith("_on") and one else one
            for name, one in facts.items()
        }
    )
