"""Dated changes of standing routes: deciding on them, seeing them, taking them back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from uuid import uuid4

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.clock import WEEKDAYS
from dispatch.errors import InvalidValue, NotFound
from dispatch.standing.changes import after, can_be_made
from dispatch.standing.values import ChangeState, Habit, StandingChange, with_habit
from dispatch.standing.weekdays import weekday_counts
from dispatch.store.book import read_sites, read_some_sites, read_technicians, write_sites
from dispatch.store.standing import read_changes, read_planned_changes, write_changes
from dispatch.words import _, either


@dataclass(frozen=True, slots=True)
class Wish:
    """A customer's wanted habit, and why."""

    site_id: str
    new: Habit
    why: str


def decide(
    session: Session, wishes: Sequence[Wish], *, from_on: date, who: str, today: date
) -> list[StandingChange]:
    """Decide on changes of standing routes that begin together on a Monday; all or none.

    The new weekdays must be as many as the visits of a week, or nobody could keep them: of a week
    outside the seasons, or of one in a season with more visits.

    Raises
    ------
    InvalidValue
        When the day is over or no Monday, when a technician is not in the book, or when a
        customer does not allow the new habit.
    NotFound
        When a site is not in the book.
    """
    if from_on <= today:
        raise InvalidValue(
            _(
                "A change of standing routes from {since} would begin before anybody hears of "
                "it: take a Monday after today."
            ).format(since=from_on)
        )
    sites = read_some_sites(session, [one.site_id for one in wishes])
    known = {one.id for one in read_technicians(session)}
    planned = read_planned_changes(session)
    batch, made = uuid4().hex, list[StandingChange]()
    for wish in wishes:
        site = sites.get(wish.site_id)
        if site is None:
            raise NotFound(_("There is no site '{site}' in the book.").format(site=wish.site_id))
        _check(wish, weekday_counts(site.plan), known)
        site = after(site, [one for one in planned if one.site_id == site.id])
        with_habit(site.plan, wish.new)
        change = StandingChange(
            id=uuid4().hex,
            batch=batch,
            site_id=site.id,
            from_on=from_on,
            old=Habit.of(site.plan),
            new=wish.new,
            why=wish.why,
            who=who,
            made_on=today,
        )
        _check_order(change, planned)
        made.append(change)
    write_changes(session, made)
    return made


def withdraw(session: Session, change_or_batch: str, *, who: str, today: date) -> int:
    """Take back a change, or all that were decided together, before their date; how many.

    Raises
    ------
    NotFound
        When there is no planned change of this id.
    InvalidValue
        When its date has come, or a later change of the same customer builds upon it.
    """
    planned = read_planned_changes(session)
    chosen = [one for one in planned if change_or_batch in (one.id, one.batch)]
    if not chosen:
        raise NotFound(
            _(
                "There is no planned change '{change_or_batch}'. The list of planned changes "
                "shows those there are."
            ).format(change_or_batch=change_or_batch),
            command="dispatch standing changes",
        )
    ids = {one.id for one in chosen}
    for one in chosen:
        if one.from_on <= today:
            raise InvalidValue(
                _(
                    "The change of {site} began on {since} and cannot be taken back: decide on "
                    "a new one that leads back."
                ).format(site=one.site_id, since=one.from_on)
            )
        later = [x for x in planned if x.site_id == one.site_id and x.from_on > one.from_on]
        if any(x.id not in ids for x in later):
            raise InvalidValue(
                _(
                    "A later change of {site} from {since} builds upon this one: take that one "
                    "back first."
                ).format(site=one.site_id, since=later[0].from_on)
            )
    write_changes(
        session,
        [replace(one, state=ChangeState.WITHDRAWN, ended_on=today, ended_by=who) for one in chosen],
    )
    return len(chosen)


def carry_out(session: Session, today: date) -> list[StandingChange]:
    """Write the changes whose date has come into the service plans.

    A change that does not fit the service plan any more, because that was edited meanwhile, is
    kept as overtaken and changes nothing.
    """
    due = [one for one in read_planned_changes(session) if one.from_on <= today]
    sites = read_some_sites(session, [one.site_id for one in due])
    settled = list[StandingChange]()
    for change in due:
        site, state = sites[change.site_id], ChangeState.OVERTAKEN
        if can_be_made(site, change):
            state = ChangeState.CARRIED_OUT
            sites[site.id] = after(site, [change])
        settled.append(replace(change, state=state, ended_on=today))
    write_sites(
        session,
        [sites[one.site_id] for one in settled if one.state is ChangeState.CARRIED_OUT],
    )
    write_changes(session, settled)
    return settled


def all_changes(session: Session) -> list[StandingChange]:
    """All changes, whatever has become of them, by first day and site."""
    return read_changes(session)


def change_list(changes: Iterable[StandingChange], names: Mapping[str, str]) -> ListTable:
    """Changes with the customer's old and new habit; `names` are those of the sites."""
    columns = (
        *("id", "batch", "from_on", "site_id", "site", "old_technician_id", "old_weekdays"),
        *("new_technician_id", "new_weekdays", "new_anchor_on", "why", "who", "made_on", "state"),
    )
    rows = tuple(
        (
            one.id,
            one.batch,
            one.from_on,
            one.site_id,
            names.get(one.site_id, one.site_id),
            one.old.technician_id,
            _days(one.old),
            one.new.technician_id,
            _days(one.new),
            one.new.anchor_on,
            one.why,
            one.who,
            one.made_on,
            str(one.state),
        )
        for one in changes
    )
    return ListTable(columns, rows)


def site_names(session: Session) -> dict[str, str]:
    """Names of the sites by id."""
    return {site.id: site.name for site in read_sites(session)}


def _days(habit: Habit) -> str:
    return ";".join(WEEKDAYS[n] for n in sorted(habit.weekdays))


def _check(wish: Wish, counts: range, known: set[str]) -> None:
    who = wish.new.technician_id
    if who is not None and who not in known:
        raise InvalidValue(
            _(
                "There is no technician '{who}' in the book, to whom {site} could change. "
                "The list of technicians shows the ids."
            ).format(who=who, site=wish.site_id),
            command="dispatch technicians list",
        )
    if wish.new.weekdays and len(wish.new.weekdays) not in counts:
        raise InvalidValue(
            _(
                "The new weekdays of {site} are {number}, and a week with a turn has {visits} "
                "visits: give as many."
            ).format(
                site=wish.site_id,
                number=len(wish.new.weekdays),
                visits=either([str(count) for count in counts]),
            )
        )


def _check_order(change: StandingChange, planned: Sequence[StandingChange]) -> None:
    later = [x for x in planned if x.site_id == change.site_id and x.from_on >= change.from_on]
    if later:
        raise InvalidValue(
            _(
                "{site} changes from {since} already: take that change back, or let this one "
                "begin later."
            ).format(site=change.site_id, since=later[0].from_on)
        )
