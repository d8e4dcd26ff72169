"""Upkeep due by the company's own table, its readings and the weeks that levelling has set."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from sqlmodel import Session

from dispatch import upkeep
from dispatch.clock import IsoWeek
from dispatch.sites import Hold, Site
from dispatch.store.book import read_holds, read_sites
from dispatch.store.levelling import KeptSlot, read_slots
from dispatch.store.plan_versions import kept_upkeep
from dispatch.store.plans import read_plan_upkeep
from dispatch.store.reading import read_while_records_stand
from dispatch.store.upkeep_history import read_histories, read_upkeep_done
from dispatch.store.upkeep_kinds import read_rules
from dispatch.upkeep import UnknownDate, UpkeepDue
from dispatch.upkeep_conditions import History

READINGS_DAYS = 200  # days of readings that conditions look back at


def upkeep_due(session: Session, week: IsoWeek) -> tuple[UpkeepDue, ...]:
    """Upkeep that may, should or must be done by the end of `week`.

    What levelling has set for a later week is left out, unless it must be done all the same: a
    condition asks for it, its latest day comes before the end of `week`, or it rides on a route of
    `week` that is published or locked. What it has set for this week or an earlier one carries
    that week. Without levelling all of it is offered, and so is what it has set for a day on which
    the site is in a hold by now: nobody would come.
    """
    return due_of(session, week, read_sites(session))


def due_of(session: Session, week: IsoWeek, sites: Sequence[Site]) -> tuple[UpkeepDue, ...]:
    """As `upkeep_due`, of sites that have been read already."""
    histories = histories_until(session, week.sunday)
    found = upkeep.upkeep_due(sites, week, read_rules(session), histories)
    slots = _open_slots(read_slots(session), read_holds(session))
    return offered(found, slots, week, kept_upkeep(session, week) if slots else frozenset())


def as_if_undone(
    session: Session, week: IsoWeek, sites: Sequence[Site], due: Sequence[UpkeepDue]
) -> tuple[UpkeepDue, ...]:
    """Upkeep `due` as it was before any that the plan of `week` was made with was done in it.

    In the order in which `due_of` has it: what is done as planned changes nothing.
    """
    done = {
        (site_id, one.kind)
        for site_id, deeds in read_upkeep_done(session).items()
        for one in deeds
        if week.monday <= one.on <= week.sunday
    }
    planned = {
        one.id: one
        for one in read_plan_upkeep(session, week).values()
        if (one.site_id, one.kind) in done
    }
    still = [one for one in due if (one.site_id, one.kind) not in done]
    place = {site.id: n for n, site in enumerate(sites)}
    turn = {rule.kind: n for n, rule in enumerate(read_rules(session))}
    known = [one for one in planned.values() if one.site_id in place and one.kind in turn]
    return tuple(
        sorted([*still, *known], key=lambda one: (place[one.site_id], turn[one.kind], one.id))
    )


def upkeep_unknown(session: Session) -> tuple[UnknownDate, ...]:
    """Equipment without the date its upkeep is counted from."""
    return upkeep.upkeep_unknown(read_sites(session), read_rules(session))


def histories_until(
    session: Session, day: date, site_id: str | None = None
) -> Mapping[str, History]:
    """Readings of the last while up to `day` and all upkeep done, by site id."""
    since = day - timedelta(days=READINGS_DAYS)
    if site_id is not None:
        return read_histories(session, since, day, site_id)
    return read_while_records_stand(
        session, ("histories", day), lambda: read_histories(session, since, day)
    )


def offered(
    found: Iterable[UpkeepDue],
    slots: Iterable[KeptSlot],
    week: IsoWeek,
    kept: Collection[str] = frozenset(),
) -> tuple[UpkeepDue, ...]:
    """Upkeep that the week plan may take, with the week that levelling has set.

    `kept` are ids of upkeep that the plan of the week holds where nothing changes it.
    """
    by_kind: dict[tuple[str, str], list[KeptSlot]] = defaultdict(list)
    for one in slots:
        by_kind[one.site_id, one.kind].append(one)
    offers = []
    for due in found:
        slot = _slot_of(due, by_kind.get((due.site_id, due.kind), []))
        if slot is None or due.is_urgent or due.latest_on <= week.sunday:
            offers.append(due)
        elif slot.week <= week:
            offers.append(replace(due, set_for=slot.week.monday))
        elif due.id in kept:
            offers.append(due)
    return tuple(offers)


def _open_slots(slots: Iterable[KeptSlot], holds: Iterable[Hold]) -> list[KeptSlot]:
    """The slots on whose day the site is in no hold."""
    of_site: dict[str, list[Hold]] = defaultdict(list)
    for hold in holds:
        of_site[hold.site_id].append(hold)
    return [one for one in slots if not any(hold.covers(one.day) for hold in of_site[one.site_id])]


def _slot_of(due: UpkeepDue, slots: Iterable[KeptSlot]) -> KeptSlot | None:
    """The week set for it: the first within its window; a slot made before it was done is not."""
    fitting = [one for one in slots if due.earliest_on <= one.day <= due.latest_on]
    return min(fitting, key=lambda one: one.day, default=None)
