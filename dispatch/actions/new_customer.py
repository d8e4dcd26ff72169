"""A new customer: where the visits would fit, what each place costs, and taking the customer on."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from sqlmodel import Session

from dispatch.actions.book import address_finder
from dispatch.actions.lists import ListTable
from dispatch.actions.twins import twin_of
from dispatch.actions.week_desk import open_desk, open_problem
from dispatch.clock import WEEKDAYS, IsoWeek
from dispatch.errors import InvalidValue
from dispatch.measures import measured
from dispatch.places import Place
from dispatch.settings import Settings
from dispatch.sites import MONDAY_TO_FRIDAY, Rhythm, ServicePlan, Site
from dispatch.store import book
from dispatch.words import _

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.edits.places import Offer

TRIED_ID = "new customer"  # never stored: no site's id has a space
SHOWN = 12  # offers; more than anybody reads out on the telephone


@dataclass(frozen=True, slots=True)
class Wish:
    """What a new customer asks for; `favourite` is a weekday, 0 is Monday."""

    name: str
    address: str
    rhythm: Rhythm = Rhythm.WEEKLY
    service_min: int = 30
    favourite: int | None = None
    skills: frozenset[str] = frozenset()
    allowed_weekdays: frozenset[int] = MONDAY_TO_FRIDAY

    def __post_init__(self) -> None:
        if not self.name.strip() or not self.address.strip():
            raise InvalidValue(_("A new customer needs a name and an address: write both."))
        _check_weekdays(self.allowed_weekdays)


@dataclass(frozen=True, slots=True)
class Places:
    """Where a new customer fits: the offers, the best first, and the price of the favourite day.

    Extra seconds are those of a week, shared out where visits come every 2 or 4 weeks.
    `favourite_s` is what the favourite day costs a week beyond the best offer; None without one,
    or where nobody works that day. `promised` are sites taken on since the week was planned, which
    are counted where they were promised.
    """

    place: Place
    every_weeks: int
    offers: tuple[Offer, ...]
    best_on_favourite: Offer | None = None
    promised: tuple[str, ...] = ()

    def extra_s(self, offer: Offer) -> int:
        """Extra seconds of a week for an offer."""
        return round(offer.extra_s / self.every_weeks)

    @property
    def favourite_s(self) -> int | None:
        """What insisting on the favourite day costs, in seconds a week."""
        if self.best_on_favourite is None:
            return None
        return self.extra_s(self.best_on_favourite) - self.extra_s(self.offers[0])


def places_for(
    session: Session, settings: Settings, week: IsoWeek, wish: Wish, today: date
) -> Places:
    """Try a new customer at every place of the plan of `week`; nothing is stored.

    Raises
    ------
    AddressNotFound
        When the address is not known.
    WeekInPast, NotFound, NoMap
        As `open_desk` does.
    InvalidValue
        When nobody can drive there, or no visit would fall into the week.
    """
    from dispatch.edits.draft import draft_of
    from dispatch.edits.places import offers, with_promised

    place = address_finder(settings)(wish.address)
    desk = open_desk(session, settings, week, today)
    site = Site(TRIED_ID, wish.name, wish.address, place, _plan(wish, week.monday))
    with_it = replace(desk, inputs=replace(desk.inputs, sites=[*desk.inputs.sites, site]))
    problem = open_problem(settings, with_it)
    if all(one.site_id != TRIED_ID for one in problem.demands):
        reasons = [one.reason for one in problem.undrivable if one.site_id == TRIED_ID]
        raise InvalidValue(
            measured(reasons[0]).replace(TRIED_ID, wish.name)
            if reasons
            else _("No visit to {name} would fall into week {week}: try another week.").format(
                name=wish.name, week=week
            )
        )
    seen = {stop.visit_id for route in desk.plan.routes for stop in route.stops}
    seen |= {one.visit_id for one in desk.plan.unplaced}
    seen |= {visit for one in problem.demands if one.site_id == TRIED_ID for visit in one.visit_ids}
    draft, promised = with_promised(problem, draft_of(desk.plan.routes), seen)
    found = offers(problem, draft, TRIED_ID)
    if not found:
        raise InvalidValue(
            _("Nobody works on the days of {name} in week {week}.").format(
                name=wish.name, week=week
            )
        )
    liked = [one for one in found if wish.favourite in one.weekdays]
    best = liked[0] if liked else None
    return Places(place, wish.rhythm.every_weeks, found, best, promised)


def take_on(
    session: Session, wish: Wish, place: Place, technician_id: str, weekdays: Iterable[int]
) -> Site:
    """Add the customer to the book with a usual technician and weekdays; return the new site.

    Raises
    ------
    InvalidValue
        When there is no such technician, or the book has a site of this name and address.
    """
    if all(one.id != technician_id for one in book.read_technicians(session)):
        raise InvalidValue(
            _("There is no technician '{technician}': choose one of the offers.").format(
                technician=technician_id
            )
        )
    if twin := twin_of(wish.name, wish.address, book.read_sites(session)):
        raise InvalidValue(
            _(
                "{name}, {address}, is in the book already, as site {site}: nothing was added. "
                "Look at that site, and end its hold where the customer comes back; a second pool "
                "at one address needs a name of its own."
            ).format(name=wish.name, address=wish.address, site=twin.id)
        )
    days = frozenset(weekdays)
    _check_weekdays(days)
    plan = replace(
        _plan(wish, None), usual_technician_id=technician_id, usual_weekdays=days,
        allowed_weekdays=wish.allowed_weekdays | days,
    )  # fmt: skip
    site = Site(_next_id(session), wish.name, wish.address, place, plan)
    book.write_sites(session, [site])
    return site


def find_address(settings: Settings, address: str) -> Place:
    """Where an address is; raises AddressNotFound."""
    return address_finder(settings)(address)


def offer_list(found: Places) -> ListTable:
    """Offers with extra minutes a week, the load of each day, and what is broken."""
    from dispatch.planning.explain import amount_in_words

    rows = []
    for one in found.offers[:SHOWN]:
        words = [measured(amount_in_words(b)) for day in one.days for b in day.broken]
        rows.append(
            (
                one.technician_id,
                one.technician_name,
                "+".join(WEEKDAYS[n] for n in sorted(one.weekdays)),
                round(found.extra_s(one) / 60),
                "; ".join(f"{day.work_s / 3600:.1f}" for day in one.days),
                "; ".join(str(day.free_s // 60) for day in one.days),
                "; ".join(words),
            )
        )
    columns = ("technician_id", "name", "days", "extra_min", "day_h", "free_min", "broken")
    return ListTable(columns, tuple(rows))


def _check_weekdays(days: frozenset[int]) -> None:
    if not days or not days <= frozenset(range(7)):
        raise InvalidValue(
            _("The weekdays {days} cannot be used: give one or more of 0 (Monday) to 6.").format(
                days=sorted(days)
            )
        )


def _plan(wish: Wish, anchor_on: date | None) -> ServicePlan:
    return ServicePlan(
        rhythm=wish.rhythm,
        service_min=wish.service_min,
        allowed_weekdays=wish.allowed_weekdays,
        skills=wish.skills,
        anchor_on=anchor_on if wish.rhythm.every_weeks > 1 else None,
    )


def _next_id(session: Session) -> str:
    """The next free id in the manner of those there are, as S018 after S017."""
    ids = [site.id for site in book.read_sites(session)]
    numbered = [found for one in ids if (found := re.fullmatch(r"(\D*)(\d+)", one))]
    if not numbered:
        return "S001"
    prefix, digits = max(numbered, key=lambda one: int(one[2])).groups()
    return f"{prefix}{int(digits) + 1:0{len(digits)}d}"
