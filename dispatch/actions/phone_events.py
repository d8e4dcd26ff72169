"""What an entry of a phone does to the day: its event, or a note where the office moved the stop.

Work done counts wherever the stop stands now. What was not done at a stop that is somebody
else's by now says nothing about that other person's visit, so it becomes a note.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID, uuid5

from sqlmodel import Session

from dispatch.actions.day import Outcome, add_events
from dispatch.actions.published_day import read_day_around
from dispatch.clock import format_time
from dispatch.day.events import LONGEST_WHY, DayEvent, EventKind
from dispatch.day.state import DayState, StopState, VisitNow
from dispatch.errors import InvalidValue, NotFound
from dispatch.phone.entry import OF_A_VISIT, Entry, clock_words
from dispatch.settings import Settings
from dispatch.store.book import read_some_sites, read_technician
from dispatch.words import N_, _, worded

NOTHING_KEPT = N_("The entry fits no day and has no record.")
ELSEWHERE = frozenset({StopState.MOVED, StopState.CANCELLED, StopState.UNPLACED})
DEEDS = {
    EventKind.STARTED: "started",
    EventKind.DONE: "did",
    EventKind.SKIPPED: N_("could not do"),
    EventKind.UNDONE: N_("took back"),
}


@dataclass(frozen=True, slots=True)
class Happened:
    """What the day made of an entry, in words for the phone.

    `is_moved` where the stop is no longer the technician's; `is_refused` where the day has no
    place for the entry at all.
    """

    words: str = ""
    is_moved: bool = False
    is_refused: bool = False


def happen(session: Session, settings: Settings, entry: Entry, who: str, now: datetime) -> Happened:
    """Add the event of an entry to its day.

    Parameters
    ----------
    entry
        The entry.
    who
        Name of the person who sends it.
    now
        When the service learns of it, aware.
    """
    try:
        state = read_day_around(session, entry.day, entry.technician_id, entry.visit_id or "")
    except NotFound as error:
        return Happened(str(error), is_refused=True)
    try:
        event = _event(entry, settings, who, now)
    except InvalidValue as error:
        return Happened(str(error), is_refused=True)
    if entry.kind not in OF_A_VISIT:
        return _added(session, settings, event)
    visit = state.visits.get(entry.visit_id or "")
    moved = _moved_words(session, state, entry, visit)
    if not moved:
        return _added(session, settings, event)
    _note(session, settings, entry, event, moved)
    if visit is not None and (counted := _what_counts(entry, event, visit)) is not None:
        _added(session, settings, counted)
    return Happened(
        _("{moved} What you entered is kept; the office knows.").format(moved=moved), is_moved=True
    )


def _event(entry: Entry, settings: Settings, who: str, now: datetime) -> DayEvent:
    """The event; a phone's clock that runs ahead is held at the moment of receipt."""
    data: dict[str, object] = {"phone_at": entry.at.isoformat()}
    if entry.kind is EventKind.SKIPPED:
        data["reason"] = entry.reason
    if settings.fixed_today is None and entry.at > now and (said := clock_words(entry.at, now)):
        data["clock"] = said
    return DayEvent(
        id=entry.id,
        day=entry.day,
        kind=entry.kind,
        at=min(entry.at, now),
        received_at=now,
        who=who,
        technician_id=entry.technician_id,
        visit_id=entry.visit_id,
        why=entry.note,
        data=data,
    )


def _added(session: Session, settings: Settings, event: DayEvent) -> Happened:
    (taken,) = add_events(session, settings, event.day, [event])
    refused = taken.outcome is Outcome.REFUSED
    return Happened(taken.reason if refused else "", is_refused=refused)


def _moved_words(session: Session, state: DayState, entry: Entry, visit: VisitNow | None) -> str:
    """Where the stop went; empty while it is the technician's own."""
    own = state.revisions.get(entry.technician_id)
    if own is not None and entry.visit_id in own.visit_ids:
        return ""
    if visit is None:
        return _("The office does not have this stop on {day}.").format(day=entry.day)
    name = _site_name(session, visit.work.site_id)
    holder = next(
        (who for who, one in state.revisions.items() if entry.visit_id in one.visit_ids), None
    )
    if holder is not None:
        return _("{name} was given to {session} meanwhile.").format(
            name=name, session=_technician_name(session, holder)
        )
    if visit.state in ELSEWHERE:
        said = (
            _("{name} was {state} by the office meanwhile{why}.")
            if visit.to_day is None
            else _("{name} was {state} to {day} by the office meanwhile{why}.")
        )
        why = f" ({visit.why})" if visit.why else ""
        return said.format(name=name, state=worded(visit.state), day=visit.to_day, why=why)
    return ""


def _what_counts(entry: Entry, event: DayEvent, visit: VisitNow) -> DayEvent | None:
    """The event that counts at a stop that is somebody else's by now, None where none does."""
    mine = visit.technician_id == entry.technician_id
    if entry.kind is EventKind.SKIPPED:  # says nothing of the other's visit, but ends a start here
        if not mine or visit.state is not StopState.UNDER_WAY:
            return None
        return replace(event, kind=EventKind.UNDONE)
    if entry.kind is EventKind.UNDONE:
        return event if mine else None
    if visit.state is StopState.DONE and not mine:
        return None
    return event


def _note(session: Session, settings: Settings, entry: Entry, event: DayEvent, moved: str) -> None:
    """Tell the dispatcher, in the day's history."""
    name = _technician_name(session, entry.technician_id)
    at = event.at.astimezone(settings.zone)
    clock = format_time(at.hour * 3600 + at.minute * 60)
    said = f" {entry.note}" if entry.note else f" {entry.reason}" if entry.reason else ""
    why = _(
        "{name} {deeds} it at {clock} all the same:{said} {moved} What was entered is kept."
    ).format(name=name, deeds=_(DEEDS[entry.kind]), clock=clock, said=said, moved=moved)
    note = DayEvent(
        id=str(uuid5(UUID(entry.id), "moved")),
        day=entry.day,
        kind=EventKind.NOTE,
        at=event.at,
        received_at=event.received_at,
        who=event.who,
        technician_id=entry.technician_id,
        visit_id=entry.visit_id,
        why=why[:LONGEST_WHY],
        data={"entry": entry.id, "kind": str(entry.kind)},
    )
    _added(session, settings, note)


def _site_name(session: Session, site_id: str) -> str:
    site = read_some_sites(session, [site_id]).get(site_id)
    return site.name if site is not None else site_id


def _technician_name(session: Session, technician_id: str) -> str:
    found = read_technician(session, technician_id)
    return technician_id if found is None else found.name
