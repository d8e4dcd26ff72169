"""A customer's link to one visit: when to expect it, and afterwards what was done.

The link opens this visit and nothing else. Its token is sealed, so that no other can be worked out
from it, and ends some days after the visit.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from sqlmodel import Session

from dispatch.actions.day_now import StopNow, day_now
from dispatch.actions.published_day import read_day
from dispatch.clock import IsoWeek, day_over_s
from dispatch.day.events import SkipReason
from dispatch.day.moments import seconds_of
from dispatch.day.state import DayState, StopState, VisitNow
from dispatch.errors import NoMap, NotFound, OffStreet
from dispatch.planning.plan import Route, Stop
from dispatch.records.record import VisitRecord, mistakes
from dispatch.seals import NOWHERE, SealedUse, read_seal
from dispatch.settings import Settings
from dispatch.store.book import read_some_sites
from dispatch.store.plans import read_plan
from dispatch.store.records import read_records
from dispatch.store.upkeep_kinds import read_rules
from dispatch.water.products import FACTS
from dispatch.words import N_, _

ROUND_S = 300  # seconds to which a window is widened; nobody is told 09:07
LOOK_BACK = timedelta(days=14)  # a visit done earlier than planned is recorded under its true day
SKIPPED = {
    SkipReason.GATE_LOCKED: N_("the gate was locked"),
    SkipReason.DOG: N_("a dog was loose"),
    SkipReason.LIGHTNING: N_("there was lightning"),
    SkipReason.OWNERS_WISH: N_("it was not wanted"),
}

# The only work that customers are told of, as the phone offers it; anything else was written by
# hand for the company. By what a record says, in small letters.
STANDARD_WORK = {
    "brushed": N_("Brushed"),
    "skimmed": N_("Skimmed"),
    "vacuumed": N_("Vacuumed"),
    "baskets emptied": N_("Baskets emptied"),
    "equipment looked at": N_("Equipment looked at"),
}


class Standing(StrEnum):
    """How a visit is, as a customer is told."""

    EXPECTED = "expected"
    UNDER_WAY = "under-way"
    DONE = "done"
    NOT_DONE = "not-done"
    MOVED = "moved"
    CANCELLED = "cancelled"
    OPEN = "open"  # in no route, or over without a word of what became of it


@dataclass(frozen=True, slots=True)
class VisitPage:
    """What a customer sees of a visit.

    `window_s` is when to expect the technician, seconds of the day; None but for an expected
    visit. `done` says in words what was done, `left_at` (aware) when the technician left, `why`
    why nothing was done, `to_day` where a moved visit went.
    """

    day: date
    standing: Standing
    window_s: tuple[int, int] | None = None
    done: tuple[str, ...] = ()
    left_at: datetime | None = None
    why: str = ""
    to_day: date | None = None

    @property
    def next_day(self) -> date:
        """The day after, to which the hours of a night shift after midnight belong."""
        return self.day + timedelta(days=1)


def visit_token(session: Session, settings: Settings, day: date, visit_id: str) -> str:
    """What the link of a visit of `day`, published or planned, ends in.

    Raises
    ------
    NotFound
        When there is no such visit on that day.
    """
    site_id = _site_id(session, day, visit_id)
    if site_id is None:
        raise NotFound(
            _(
                "There is no visit '{visit}' on {day}, so it has no link: choose one of the "
                "stops of that day."
            ).format(visit=visit_id, day=day),
            command=f"dispatch day show {day}",
        )
    return seal_visit(settings, day, site_id, visit_id)


def seal_visit(settings: Settings, day: date, site_id: str, visit_id: str) -> str:
    """What the link of a visit ends in, of one that is known to be there."""
    seal = read_seal(settings.link_key_file)
    return seal.seal(SealedUse.VISIT, f"{day}\n{site_id}\n{visit_id}")


def visit_of(session: Session, settings: Settings, token: str, *, now: datetime) -> VisitPage:
    """What the link with this token shows at the moment `now`.

    Raises
    ------
    NotFound
        When the token is none, its visit is long over or its customer gone; the words are the same.
    """
    content = read_seal(settings.link_key_file).open(SealedUse.VISIT, token)
    said, site_id, visit_id = content.split("\n")
    day, today = date.fromisoformat(said), now.astimezone(settings.zone).date()
    over = today > day + timedelta(days=settings.visit_link_days)
    if over or not read_some_sites(session, [site_id]):
        raise NotFound(_(NOWHERE))
    return visit_page(session, settings, day, site_id, visit_id, now=now)


def visit_page(
    session: Session, settings: Settings, day: date, site_id: str, visit_id: str, *, now: datetime
) -> VisitPage:
    """What the link of a visit shows at the moment `now`."""
    record = _record(session, settings, day, site_id, visit_id)
    if record is not None and not record.skipped:
        return VisitPage(day, Standing.DONE, done=_done(session, record), left_at=record.left_at)
    state = _published(session, day)
    seen = state.visits.get(visit_id) if state else None
    if seen is not None and seen.state is not StopState.PLANNED:
        return _as_entered(day, seen)
    if record is not None:
        return VisitPage(day, Standing.NOT_DONE)
    planned = _planned(session, day, visit_id, state)
    now_s = seconds_of(day, now, settings.zone)
    if planned is None or now_s >= day_over_s(planned[0].end_s):
        return VisitPage(day, Standing.OPEN)
    stop = planned[1]
    start_s = _projected_s(session, settings, stop, day, now) if state else stop.start_s
    window_s = arrival_window(start_s, settings.arrival_window_min * 60, now_s)
    return VisitPage(day, Standing.EXPECTED, window_s)


def arrival_window(start_s: int, width_s: int, now_s: int) -> tuple[int, int]:
    """From when to when to expect somebody who should begin at `start_s`, seconds of the day.

    The window is at least `width_s` wide around the start, to whole five minutes, and does not
    begin before `now_s`.
    """
    earliest_s = max(start_s - width_s // 2, min(now_s, start_s)) // ROUND_S * ROUND_S
    latest_s = -(-(start_s + width_s // 2) // ROUND_S) * ROUND_S
    return max(0, earliest_s), latest_s


def _as_entered(day: date, seen: VisitNow) -> VisitPage:
    """The page of a visit of which something was entered, or that a change of plan took out."""
    if seen.state is StopState.UNDER_WAY:
        return VisitPage(day, Standing.UNDER_WAY)
    if seen.state is StopState.DONE:
        return VisitPage(day, Standing.DONE, left_at=seen.left_at)
    if seen.state is StopState.SKIPPED:
        reasons = {str(code): _(words) for code, words in SKIPPED.items()}
        return VisitPage(day, Standing.NOT_DONE, why=reasons.get(seen.reason, ""))
    if seen.state is StopState.MOVED:
        return VisitPage(day, Standing.MOVED, to_day=seen.to_day)
    if seen.state is StopState.CANCELLED:
        return VisitPage(day, Standing.CANCELLED)
    return VisitPage(day, Standing.OPEN)


def _record(
    session: Session, settings: Settings, day: date, site_id: str, visit_id: str
) -> VisitRecord | None:
    """The record of the visit; one of work done before one of an attempt, none of a mistake."""
    kept = read_records(session, settings.zone, site_id=site_id, first_day=day - LOOK_BACK)
    said = mistakes()
    own = [
        one.record
        for one in kept
        if one.record.visit_id == visit_id and one.record.skipped not in said
    ]
    return min(own, key=lambda one: bool(one.skipped), default=None)


def _done(session: Session, record: VisitRecord) -> tuple[str, ...]:
    """What was done, in standard words; whatever was written by hand is for the company."""
    standard = [one.strip().lower() for one in record.work]
    titles = {rule.kind: _(rule.title) for rule in read_rules(session)}
    upkeep = [titles[one.kind] for one in record.upkeep if one.kind in titles]
    added = [
        _("Added {title}").format(title=_(FACTS[one.product].title).lower())
        for one in record.products
        if one.product in FACTS
    ]
    words = [*(_(STANDARD_WORK[one]) for one in standard if one in STANDARD_WORK), *upkeep, *added]
    return tuple(dict.fromkeys(words))


def _published(session: Session, day: date) -> DayState | None:
    try:
        return read_day(session, day)
    except NotFound:
        return None


def _site_id(session: Session, day: date, visit_id: str) -> str | None:
    state = _published(session, day)
    if state is not None and visit_id in state.visits:
        return state.visits[visit_id].work.site_id
    planned = _planned(session, day, visit_id, state)
    return planned[1].site_id if planned else None


def _planned(
    session: Session, day: date, visit_id: str, state: DayState | None
) -> tuple[Route, Stop] | None:
    """Route and stop of a visit, as published, or as planned where no day was published."""
    routes: Iterable[Route]
    if state is not None:
        routes = [one.route for one in state.revisions.values()]
    else:
        try:
            routes = read_plan(session, IsoWeek.of(day)).routes
        except NotFound:
            return None
    pairs = ((route, stop) for route in routes if route.day == day for stop in route.stops)
    return next((pair for pair in pairs if pair[1].visit_id == visit_id), None)


def _projected_s(session: Session, settings: Settings, stop: Stop, day: date, now: datetime) -> int:
    """When service should begin as the day goes; as planned where there are no drive times."""
    try:
        seen = day_now(session, settings, day, now=now)
    except (NoMap, OffStreet):
        return stop.start_s
    rows: Iterable[StopNow] = (row for one in seen.technicians for row in one.stops)
    found = next(row for row in rows if row.stop.visit_id == stop.visit_id)
    return found.projected.start_s if found.projected else stop.start_s
