"""Places for visits on other days, and what they cost there."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from sqlmodel import Session

from dispatch.actions.day_moved import NEAR_DAYS, moved_to
from dispatch.actions.day_roads import DayBook
from dispatch.actions.day_work import WorkBook
from dispatch.actions.due import closed_days
from dispatch.actions.published_day import read_day
from dispatch.clock import IsoWeek
from dispatch.day.moments import seconds_of
from dispatch.day.options import OtherDay
from dispatch.day.own_search import inserted
from dispatch.day.rest import RepairPrices, Rest, field_of
from dispatch.day.situation import situation
from dispatch.day.state import DayState, StopState, fold
from dispatch.day.triggers import RunningLate
from dispatch.day.work import Revision, Work
from dispatch.errors import InvalidValue, NotFound
from dispatch.settings import Settings
from dispatch.store.days import read_published_days
from dispatch.store.plans import read_plan
from dispatch.words import _

DAYS_AHEAD = 7  # days after the repaired one that are looked at; a weekly visit is due again then
STANDING = (StopState.PLANNED, StopState.UNDER_WAY, StopState.DONE)
MOST_DAYS = 4  # of them, the first on which anybody works


def move_span(day: date, today: date) -> tuple[date, date]:
    """The first and the last day that a visit of `day` may be moved to; `day` itself is none."""
    near = timedelta(days=NEAR_DAYS)
    return max(today, day - near), max(today, day + near)


def check_other_day(
    settings: Settings, book: DayBook, day: date, site_id: str, to_day: date, now: datetime
) -> None:
    """Refuse a day on which a visit of `day` that is moved there would never come up.

    Nor may it be one on which the site has a hold.

    Raises
    ------
    InvalidValue
        When it is the same day, over, too far off, one on which nobody works, or in a hold.
    """
    today = now.astimezone(settings.zone).date()
    first, last = move_span(day, today)
    if to_day == day:
        raise InvalidValue(
            _("The visit stands on {day} already: choose another day, or leave it empty.").format(
                day=day
            )
        )
    if to_day < today:
        raise InvalidValue(
            _(
                "{day} is over, so nobody would come: choose a day from {first} to {last}, or "
                "leave it empty for the cheapest."
            ).format(day=to_day, first=first, last=last)
        )
    if not first <= to_day <= last:
        raise InvalidValue(
            _(
                "{day} is too far off to move a visit to: choose a day from {first} to {last}. "
                "For another one, cancel the stop and enter one-off work."
            ).format(day=to_day, first=first, last=last)
        )
    if to_day in closed_days(settings, IsoWeek.of(to_day)) or not book.cells(to_day)[0]:
        raise InvalidValue(
            _(
                "Nobody works on {day}, so nobody would come: choose another day, or leave it "
                "empty for the cheapest."
            ).format(day=to_day)
        )
    hold = book.hold_on(site_id, to_day)
    if hold is not None:
        raise InvalidValue(
            _(
                "{site} has a hold from {first_day} to {last_day}: choose a day outside of it, or "
                "end the hold before."
            ).format(site=book.site_name(site_id), first_day=hold.first_day, last_day=hold.last_day)
        )


class OtherDays:
    """Finds places on the days after one that is repaired.

    A visit goes to a day that it may have, or to any day when it may have none of them, but to none
    on which its site has a visit of the same sort: made on one day, two are one. A place is one
    that breaks nothing that is not broken already.
    """

    def __init__(
        self, session: Session, settings: Settings, book: DayBook, day: date, now: datetime
    ) -> None:
        self._session, self._settings, self._book = session, settings, book
        self._day, self._now = day, now
        self._rests: dict[date, Rest | None] = {}
        self._works: dict[date, list[Work]] = {}
        self._published = set(read_published_days(session))

    def __call__(self, works: Sequence[Work], day: date | None) -> list[OtherDay]:
        """Places for these visits, on `day` or each on the cheapest; for one visit, all of them."""
        ahead = [self._day + timedelta(days=n) for n in range(1, DAYS_AHEAD + 1)]
        days = [one for one in ahead if self._rest(one) is not None] if day is None else [day]
        found: list[OtherDay] = []
        for work in works:
            free = [
                one
                for one in days
                if self._book.hold_on(work.site_id, one) is None and not self.has_visit(work, one)
            ]
            own = [one for one in free if one in work.days] or free
            places = [self._place(work, one) for one in own[:MOST_DAYS]]
            ranked = sorted(
                (one for one in places if one is not None),
                key=lambda one: (one.extra_drive_s + 5 * one.over_s, one.day),
            )
            if not ranked:
                continue
            if len(works) == 1:
                return ranked
            found.append(ranked[0])
            self._take(work, ranked[0])
        return found

    def check(self, work: Work, day: date) -> None:
        """Raise InvalidValue where the site has a visit of the same sort on `day`."""
        if self.has_visit(work, day):
            raise InvalidValue(
                _(
                    "{site} has a visit on {day} already, so that one of the two would be in "
                    "vain: choose another day, or cancel the stop."
                ).format(site=self._book.site_name(work.site_id), day=day)
            )

    def has_visit(self, work: Work, day: date) -> bool:
        """Whether the site has a visit of the same sort on `day`, planned, published or made."""
        self._rest(day)
        return any(_is_alike(work, one) for one in self._works.get(day, ()))

    def _place(self, work: Work, day: date) -> OtherDay | None:
        """Where the visit costs least on a day; None where it has no place."""
        rest = self._rest(day)
        if rest is None:
            return None
        tried = _with(rest, work)
        new = len(rest.works)
        f = field_of(tried)
        orders = inserted(f, tried.base, [new]).orders
        cell = next((r for r, order in enumerate(orders) if new in order), None)
        if cell is None:
            return None
        was, now = rest.times(cell, rest.base[cell]), tried.times(cell, orders[cell])
        over_s = max(0, now.overtime_s - was.overtime_s)
        if now.broken_s > was.broken_s:
            return None
        who = rest.standings[cell].technician_id if day in self._published else None
        extra_s = tried.drive_s(cell, orders[cell]) - rest.drive_s(cell, rest.base[cell])
        return OtherDay(work.visit_id, day, who, extra_s, over_s)

    def _take(self, work: Work, place: OtherDay) -> None:
        """Count a visit in on its day, so that the next one finds less room there."""
        rest = self._rests[place.day]
        if rest is None:
            return
        tried = _with(rest, work)
        orders = inserted(field_of(tried), tried.base, [len(rest.works)]).orders
        self._rests[place.day] = Rest(
            rest.day, rest.standings, tried.works, orders, rest.roads, prices=rest.prices
        )

    def _rest(self, day: date) -> Rest | None:
        if day not in self._rests:
            self._rests[day] = self._read(day)
        return self._rests[day]

    def _read(self, day: date) -> Rest | None:
        """A whole other day, as published or as planned; None when nobody works or it is over."""
        cells, _hours = self._book.cells(day)
        if not cells or day in closed_days(self._settings, IsoWeek.of(day)):
            return None
        state = self._state(day)
        self._works[day] = [one.work for one in state.visits.values() if one.state in STANDING]
        if day not in self._published:
            self._works[day] += [one.work for one in moved_to(self._session, [day])]
        now_s = seconds_of(day, self._now, self._settings.zone)
        one = situation(
            state, cells, self._book.roads, now_s, self._settings.zone, RunningLate(),
            RepairPrices(),
        )  # fmt: skip
        kept = one.rest.works[: len(one.rest.works) - len(one.wanted)]
        rest = one.rest
        return Rest(day, rest.standings, kept, rest.base, rest.roads, prices=rest.prices)

    def _state(self, day: date) -> DayState:
        if day in self._published:
            return read_day(self._session, day)
        week = IsoWeek.of(day)
        try:
            plan = read_plan(self._session, week)
        except NotFound:
            return fold(day, (), ())
        works = WorkBook(self._session, self._settings, week)
        revisions = [
            Revision(1, 0, route, tuple(works.work_of(stop, day) for stop in route.stops))
            for route in plan.routes
            if route.day == day
        ]
        return fold(day, revisions, ())


def _is_alike(work: Work, other: Work) -> bool:
    """Whether both are regular visits of one site, or of one job there."""
    if work.visit_id == other.visit_id or work.site_id != other.site_id:
        return False
    series, others = (one.visit_id.rpartition("/")[0] for one in (work, other))
    return series == others or not (work.title or other.title)


def _with(rest: Rest, work: Work) -> Rest:
    works = (*rest.works, work)
    return Rest(rest.day, rest.standings, works, rest.base, rest.roads, prices=rest.prices)
