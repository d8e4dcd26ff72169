"""What if, side by side with today, and when to hire; no plan and no book is touched."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from pydantic import TypeAdapter
from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.actions.due import closed_days
from dispatch.actions.lists import Cell, ListTable
from dispatch.actions.maps import drive_times
from dispatch.actions.owner_loads import rates_of
from dispatch.actions.sites_of_week import sites_from_week
from dispatch.clock import IsoWeek
from dispatch.costs import Rates, overtime_s
from dispatch.errors import Cancelled, InvalidValue, NotFound, NothingToPlan
from dispatch.levelling.rooms import minutes_of_shifts, slack_of
from dispatch.places import Place
from dispatch.planning.progress import Progress, Report, ShouldStop, never, silent
from dispatch.rhythms import Rhythm
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.standing.hiring import MonthLoad, WeekLoad, months_of
from dispatch.store.book import read_some_sites, read_technicians
from dispatch.store.db import transaction
from dispatch.store.levelling import read_levelling
from dispatch.store.standing import Study, read_study, write_study
from dispatch.technicians import Technician
from dispatch.words import N_, _

if TYPE_CHECKING:  # compiled code, slow to import
    from dispatch.planning.plan import WeekPlan
    from dispatch.standing.what_if import Supposition

STUDY = "what-if"
SOMEBODY = (
    ("technician_id",),
    N_(
        "Nobody is named who leaves, or whom to hire like: give the id of a technician "
        "('technician_id', in a shell --technician)."
    ),
)
NEEDED = {  # what a supposition cannot do without, and what to say where it is missing
    "leaves": SOMEBODY,
    "hired": SOMEBODY,
    "bought": (
        ("lat", "lon"),
        N_(
            "It is not said where the pools lie that are bought: give the middle of them in "
            "degrees ('lat' and 'lon', in a shell --lat and --lon)."
        ),
    ),
}


@dataclass(frozen=True, slots=True)
class PersonLoad:
    """A technician's week on average over the cycle, in seconds."""

    technician_id: str
    technician: str
    stops: float
    drive_s: float
    work_s: float
    overtime_s: float


@dataclass(frozen=True, slots=True)
class Side:
    """How a typical week is, on average over the cycle; `off_street` found no drive times."""

    customers: int
    off_street: int
    stops: float
    unplaced: float
    drive_s: float
    work_s: float
    overtime_s: float
    cost: float
    technicians: tuple[PersonLoad, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """Today and what if, side by side."""

    words: str
    made_at: datetime
    first_week: str
    today: Side
    then: Side


_COMPARED = TypeAdapter(Compared)


def supposition_of(wish: Mapping[str, Any]) -> Supposition:
    """A supposition from plain words.

    `kind` is leaves, hired (both with `technician_id`), bought (`count`, `lat`, `lon`,
    `radius_m`, `service_min`, `rhythm`) or rhythm (`rhythm`).

    Raises
    ------
    InvalidValue
        When the words make no supposition.
    """
    from dispatch.standing.what_if import Bought, Hired, Leaves, NewRhythm

    names, words = NEEDED.get(str(wish.get("kind")), ((), ""))
    if any(wish.get(name) in {None, ""} for name in names):
        raise InvalidValue(_(words))
    try:
        kind = wish["kind"]
        if kind == "leaves":
            return Leaves(str(wish["technician_id"]))
        if kind == "hired":
            return Hired(str(wish["technician_id"]))
        if kind == "rhythm":
            return NewRhythm(Rhythm(wish["rhythm"]))
        if kind == "bought":
            return Bought(
                int(wish["count"]),
                Place(float(wish["lat"]), float(wish["lon"])),
                float(wish["radius_m"]),
                int(wish.get("service_min", 30)),
                Rhythm(wish.get("rhythm", Rhythm.WEEKLY)),
            )
    except (KeyError, ValueError, TypeError) as error:
        raise InvalidValue(
            _("The supposition lacks something or cannot be read: {error}.").format(error=error)
        ) from error
    raise InvalidValue(
        _("'{kind}' is no supposition: choose leaves, hired, bought or rhythm.").format(kind=kind)
    )


def place_of(session: Session, site_id: str) -> dict[str, float]:
    """Latitude and longitude of a customer; raises NotFound where there is none of this id."""
    found = read_some_sites(session, [site_id]).get(site_id)
    if found is None:
        raise NotFound(_("There is no site '{site}' in the book.").format(site=site_id))
    return {"lat": found.place.lat, "lon": found.place.lon}


def reckon_what_if(
    engine: Engine,
    settings: Settings,
    wish: Mapping[str, Any],
    *,
    today: date,
    progress: Report = silent,
    should_stop: ShouldStop = never,
) -> Compared:
    """Compare a typical cycle of today with that of a supposition, and keep the outcome.

    Raises
    ------
    InvalidValue, NotFound
        When the supposition cannot be made.
    NothingToPlan
        Without any site or technician, today or then.
    Cancelled
        When `should_stop` says yes: one side would be planned with less care than the other. The
        comparison before stays.
    """
    first = IsoWeek.of(today).next
    with transaction(engine, read_only=True) as session:
        sites = sites_from_week(session, first)
        technicians = read_technicians(session)
    then_sites, then_technicians = supposition_of(wish).applied(sites, technicians)

    def told(half: int) -> Callable[[int, int], None]:
        return lambda done, whole: progress(Progress(half * whole + done, 2 * whole, 0, 0))

    made = Compared(
        _words(wish, technicians),
        settings.now(),
        str(first),
        _side(settings, first, sites, technicians, told(0), should_stop),
        _side(settings, first, then_sites, then_technicians, told(1), should_stop),
    )
    if should_stop():
        raise Cancelled(
            _("It was stopped before both weeks were planned; the comparison before stays.")
        )
    with transaction(engine) as session:
        kept = Study(STUDY, "", made.made_at, _COMPARED.dump_python(made, mode="json"))
        write_study(session, kept)
    return made


def compared(session: Session) -> Compared:
    """The latest comparison; raises NotFound where there has been none."""
    kept = read_study(session, STUDY)
    if kept is None:
        raise NotFound(_("Nothing has been supposed yet."), command="dispatch what-if")
    return _COMPARED.validate_python(kept.result)


COST_ROWS = (6, 7)  # of the list of figures, in the company's currency


def compared_list(found: Compared) -> ListTable:
    """One line for each figure of today and of what if, hours rounded to two decimals."""
    sides = (found.today, found.then)
    figures: tuple[tuple[str, Callable[[Side], float]], ...] = (
        (_("customers"), lambda one: one.customers),
        (_("stops a week"), lambda one: round(one.stops, 2)),
        (_("unplaced a week"), lambda one: round(one.unplaced, 2)),
        (_("driving, h a week"), lambda one: round(one.drive_s / 3600, 2)),
        (_("paid work, h a week"), lambda one: round(one.work_s / 3600, 2)),
        (_("overtime, h a week"), lambda one: round(one.overtime_s / 3600, 2)),
        (_("cost a week"), lambda one: round(one.cost, 2)),
        (_("cost a stop"), lambda one: round(one.cost / max(one.stops, 0.01), 2)),
    )
    rows: list[tuple[Cell, ...]] = [(name, *(of(one) for one in sides)) for name, of in figures]
    hours = [
        {one.technician_id: round(one.work_s / 3600, 2) for one in side.technicians}
        for side in sides
    ]
    names = {one.technician_id: one.technician for side in sides for one in side.technicians}
    rows += [
        (_("{name}, h a week").format(name=name), hours[0].get(who, 0.0), hours[1].get(who, 0.0))
        for who, name in names.items()
    ]
    return ListTable(("figure", "today", "what_if"), tuple(rows))


def hiring(
    session: Session, settings: Settings, today: date, growth_percent: float = 0.0
) -> list[MonthLoad]:
    """The coming year's load against capacity, month by month, the load from the latest levelling.

    Weeks that are over are left out. What a technician can hold is the shift less its slack, also
    in weeks in which visits and driving alone are more than that. Shifts are those of today:
    days off entered since are off, and who was hired since is there.

    Raises
    ------
    NotFound
        When upkeep has not been spread over the year yet, which is what the load comes from, or
        every week of it is over.
    InvalidValue
        On a growth that is not believable.
    """
    kept = read_levelling(session)
    coming = [one for one in kept.loads if one.week >= IsoWeek.of(today)] if kept else []
    if not coming:
        raise NotFound(
            _("The year's load is not known yet: spread upkeep over the year first."),
            command="dispatch upkeep level",
        )
    technicians = read_technicians(session)
    work = Counter[IsoWeek]()
    for one in coming:
        work[one.week] += one.visit_min + one.drive_min + one.upkeep_min
    loads = [
        WeekLoad(week, work[week], _most_min(technicians, week, closed_days(settings, week)))
        for week in sorted(work)
    ]
    return months_of(loads, len(technicians), growth_percent)


def _most_min(technicians: Sequence[Technician], week: IsoWeek, closed: frozenset[date]) -> float:
    """Minutes that all shifts of a week can hold, less what is to stay free."""
    return sum((1 - slack_of(one)) * minutes_of_shifts(one, week, closed) for one in technicians)


def month_list(months: Sequence[MonthLoad]) -> ListTable:
    """One line for each month."""
    columns = ("month", "weeks", "work_h_a_week", "most_h_a_week", "fullest_week_percent")
    rows = tuple(
        (
            one.month,
            one.weeks,
            round(one.work_h, 1),
            round(one.most_h, 1),
            round(100 * one.fullest, 1),
            round(one.technicians_short, 2),
        )
        for one in months
    )
    return ListTable((*columns, "technicians_short"), rows)


def _side(
    settings: Settings,
    first: IsoWeek,
    sites: Sequence[Site],
    technicians: Sequence[Technician],
    told: Callable[[int, int], None],
    should_stop: ShouldStop,
) -> Side:
    from dispatch.planning.problem import Prices
    from dispatch.standing.typical import typical_cycle
    from dispatch.standing.what_if import cycle_plans

    if not sites or not technicians:
        raise NothingToPlan(
            _("Without any site or technician there is no week to compare: import them first.")
        )
    times = drive_times(settings, sites, technicians)
    prices = Prices.of_changes(settings.technician_change_min, settings.day_change_min)
    typical = typical_cycle(first, sites, technicians, times.matrix, prices)
    plans = cycle_plans(typical, seed=settings.seed, told=told, should_stop=should_stop)
    people = tuple(_person(one, plans) for one in technicians)
    rates: Rates = rates_of(settings)
    drive_m = sum(route.drive_m for plan in plans for route in plan.routes) / len(plans)
    work_s, over_s = sum(p.work_s for p in people), sum(p.overtime_s for p in people)
    return Side(
        customers=len(typical.problem.demands),
        off_street=sum(place.startswith("site:") for place in times.no_drive),
        stops=sum(one.stops for one in people),
        unplaced=sum(len(plan.unplaced) for plan in plans) / len(plans),
        drive_s=sum(one.drive_s for one in people),
        work_s=work_s,
        overtime_s=over_s,
        cost=rates.cost(work_s, drive_m, over_s),
        technicians=people,
    )


def _person(technician: Technician, plans: Sequence[WeekPlan]) -> PersonLoad:
    regular = technician.overtime.week_regular_min if technician.overtime else None
    weeks = [[r for r in plan.routes if r.technician_id == technician.id] for plan in plans]
    work_s = [sum(route.work_s for route in routes) for routes in weeks]
    return PersonLoad(
        technician_id=technician.id,
        technician=technician.name,
        stops=sum(len(route.stops) for routes in weeks for route in routes) / len(plans),
        drive_s=sum(route.drive_s for routes in weeks for route in routes) / len(plans),
        work_s=sum(work_s) / len(plans),
        overtime_s=sum(overtime_s(one, regular) for one in work_s) / len(plans),
    )


def _words(wish: Mapping[str, Any], technicians: Sequence[Technician]) -> str:
    names = {one.id: one.name for one in technicians}
    who = names.get(str(wish.get("technician_id")), "")
    rhythm = str(wish.get("rhythm", Rhythm.WEEKLY)).replace("-", " ")
    return {
        "leaves": _("{who} leaves").format(who=who),
        "hired": _("One more technician like {who}").format(who=who),
        "rhythm": _("Weekly customers are served {rhythm}").format(rhythm=rhythm),
        "bought": _("{count} pools more within {radius} m, {rhythm}").format(
            count=wish.get("count"), radius=wish.get("radius_m"), rhythm=rhythm
        ),
    }[wish["kind"]]
