"""The owner's loads over the weeks: hours, spread, driving, cost, accounts, overtime coming."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from dispatch.actions.done_work import StopWork, work_of
from dispatch.actions.due import closed_days
from dispatch.actions.lists import Cell, ListTable
from dispatch.clock import IsoWeek
from dispatch.costs import MONTH_WEEKS, Rates, overtime_s
from dispatch.planning.plan import WeekPlan
from dispatch.settings import Settings
from dispatch.sites import Site
from dispatch.store.book import read_sites, read_technicians
from dispatch.store.plans import read_plan, read_plan_upkeep, read_planned_weeks
from dispatch.store.records import Attendance, read_attendance
from dispatch.technicians import Technician

USUAL_WEEKS = 12  # shown; a quarter of a year


@dataclass(frozen=True, slots=True)
class TechnicianWeek:
    """A technician's week in seconds; `service_s` is without upkeep.

    The time of `recorded` of the stops is what records say, that of the others and all driving
    what was planned.
    `overtime_s` is what exceeds the regular hours of a workweek, `over_s` how far the work lies
    beyond the fair share by hours of shift (below zero: short of it).
    """

    technician_id: str
    technician: str
    stops: int
    recorded: int
    service_s: int
    upkeep_s: int
    drive_s: int
    drive_m: int
    work_s: int
    shift_s: int
    overtime_s: int
    over_s: int

    @property
    def slack_s(self) -> int:
        """Seconds of the shifts without paid work or meal; below zero when overfull."""
        return self.shift_s - self.work_s


@dataclass(frozen=True, slots=True)
class WeekFigures:
    """A planned week of the whole company; `recorded` as for a technician."""

    week: str
    technicians: tuple[TechnicianWeek, ...]
    stops: int
    recorded: int
    service_s: int
    upkeep_s: int
    drive_s: int
    work_s: int
    slack_s: int
    overtime_s: int
    spread_s: int
    cost: float

    @property
    def driving_share(self) -> float:
        """Share of paid work that is driving."""
        return self.drive_s / self.work_s if self.work_s else 0.0

    @property
    def stops_per_hour(self) -> float:
        """Stops in an hour of paid work."""
        return 3600 * self.stops / self.work_s if self.work_s else 0.0

    @property
    def cost_per_stop(self) -> float:
        """Cost of hours and distance for each stop."""
        return self.cost / self.stops if self.stops else 0.0


@dataclass(frozen=True, slots=True)
class Account:
    """What a customer takes and pays a month, from the visits of the weeks looked at.

    A visit takes its service and the drive that leads to it; the drive home is shared by all stops
    of a route. `upkeep_s` is the upkeep that fell into those weeks, in all: some of it comes once
    in years, so that no month can be reckoned from it. `price` is None where it is not known.
    """

    site_id: str
    site: str
    visits: int
    visit_s: float
    visits_a_month: float
    cost_a_month: float
    upkeep_s: int
    price: float | None

    @property
    def margin(self) -> float | None:
        """What the price leaves; below zero: the account takes more than it pays for."""
        return None if self.price is None else self.price - self.cost_a_month


def rates_of(settings: Settings) -> Rates:
    """The company's costs of an hour and a kilometre."""
    return Rates(settings.hourly_cost, settings.distance_cost_km)


def week_figures(session: Session, settings: Settings, until: IsoWeek) -> list[WeekFigures]:
    """The latest planned weeks up to `until`, earliest first; weeks without a plan are left out."""
    weeks = [week for week in read_planned_weeks(session) if week <= until][-USUAL_WEEKS:]
    technicians = read_technicians(session)
    return [
        _week(plan, work, technicians, rates_of(settings), closed_days(settings, plan.week))
        for plan, work in _done(session, weeks)
    ]


def accounts(session: Session, settings: Settings, until: IsoWeek) -> list[Account]:
    """Customers of the latest planned weeks, those that take most beyond their price first.

    Customers without a price come last, the dearest first.
    """
    weeks = [week for week in read_planned_weeks(session) if week <= until][-USUAL_WEEKS:]
    visits: defaultdict[str, list[StopWork]] = defaultdict(list)
    for _, work in _done(session, weeks):
        for one in work:
            if one.visit_id is None or one.visit_id.startswith(f"{one.site_id}/"):
                # one-off work is billed by itself
                visits[one.site_id].append(one)
    sites = {site.id: site for site in read_sites(session)}
    rates = rates_of(settings)
    found = [
        _account(sites[site_id], took, rates, weeks[-1])
        for site_id, took in visits.items()
        if site_id in sites
    ]
    return sorted(found, key=_worst_first)


def figures_list(weeks: Iterable[WeekFigures]) -> ListTable:
    """One line for each week and technician; hours rounded to two decimals."""
    columns = ("week", "technician_id", "technician", "stops", "recorded_stops")
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            week.week,
            one.technician_id,
            one.technician,
            one.stops,
            one.recorded,
            *(
                round(seconds / 3600, 2)
                for seconds in (
                    *(one.service_s, one.upkeep_s, one.drive_s, one.work_s, one.shift_s),
                    *(one.slack_s, one.overtime_s, one.over_s),
                )
            ),
        )
        for week in weeks
        for one in week.technicians
    )
    more = ("service_h", "upkeep_h", "drive_h", "work_h", "shift_h", "slack_h", "overtime_h")
    return ListTable((*columns, *more, "beyond_fair_share_h"), rows)


def week_list(weeks: Iterable[WeekFigures]) -> ListTable:
    """One line for each week."""
    columns = ("week", "stops", "recorded_stops", "work_h", "drive_h", "driving_percent")
    rows = tuple(
        (
            one.week,
            one.stops,
            one.recorded,
            round(one.work_s / 3600, 2),
            round(one.drive_s / 3600, 2),
            round(100 * one.driving_share, 1),
            round(one.stops_per_hour, 2),
            round(one.spread_s / 60, 1),
            round(one.overtime_s / 3600, 2),
            round(one.cost, 2),
            round(one.cost_per_stop, 2),
        )
        for one in weeks
    )
    more = ("stops_per_hour", "spread_min", "overtime_h", "cost", "cost_per_stop")
    return ListTable((*columns, *more), rows)


def account_list(found: Iterable[Account]) -> ListTable:
    """One line for each account, in the company's currency."""
    columns = ("site_id", "site", "visits", "minutes_a_visit", "visits_a_month", "cost_a_month")
    rows = tuple(
        (
            one.site_id,
            one.site,
            one.visits,
            round(one.visit_s / 60, 1),
            round(one.visits_a_month, 2),
            round(one.cost_a_month, 2),
            one.price,
            None if one.margin is None else round(one.margin, 2),
            round(one.upkeep_s / 60, 1),
        )
        for one in found
    )
    return ListTable((*columns, "monthly_price", "left_over", "upkeep_min"), rows)


def _done(session: Session, weeks: Sequence[IsoWeek]) -> Iterator[tuple[WeekPlan, list[StopWork]]]:
    """Each planned week with what its visits took."""
    attended: defaultdict[IsoWeek, list[Attendance]] = defaultdict(list)
    for one in read_attendance(session, weeks[0].monday) if weeks else ():
        attended[IsoWeek.of(one.day)].append(one)
    for week in weeks:
        plan = read_plan(session, week)
        upkeep = {key: 60 * one.minutes for key, one in read_plan_upkeep(session, week).items()}
        yield plan, work_of(plan, attended[week], upkeep)


def _week(
    plan: WeekPlan,
    done: Sequence[StopWork],
    technicians: Sequence[Technician],
    rates: Rates,
    closed: Collection[date],
) -> WeekFigures:
    shifts = {one.id: _shift_s(one, plan.week, closed) for one in technicians}
    theirs = {
        one.id: [work for work in done if work.technician_id == one.id] for one in technicians
    }
    work = {
        one.id: sum(r.work_s - r.service_s for r in plan.routes if r.technician_id == one.id)
        + sum(visit.service_s for visit in theirs[one.id])
        for one in technicians
    }
    share = sum(work.values()) / max(1, sum(shifts.values()))
    rows = []
    for one in technicians:
        routes = [route for route in plan.routes if route.technician_id == one.id]
        upkeep = sum(visit.upkeep_s for visit in theirs[one.id])
        rows.append(
            TechnicianWeek(
                technician_id=one.id,
                technician=one.name,
                stops=len(theirs[one.id]),
                recorded=sum(visit.is_recorded for visit in theirs[one.id]),
                service_s=sum(visit.service_s for visit in theirs[one.id]) - upkeep,
                upkeep_s=upkeep,
                drive_s=sum(route.drive_s for route in routes),
                drive_m=sum(route.drive_m for route in routes),
                work_s=work[one.id],
                shift_s=shifts[one.id],
                overtime_s=overtime_s(
                    work[one.id], one.overtime.week_regular_min if one.overtime else None
                ),
                over_s=round(work[one.id] - share * shifts[one.id]),
            )
        )
    over = [row.over_s for row in rows if row.shift_s]
    return WeekFigures(
        week=str(plan.week),
        technicians=tuple(rows),
        stops=sum(row.stops for row in rows),
        recorded=sum(row.recorded for row in rows),
        service_s=sum(row.service_s for row in rows),
        upkeep_s=sum(row.upkeep_s for row in rows),
        drive_s=sum(row.drive_s for row in rows),
        work_s=sum(row.work_s for row in rows),
        slack_s=sum(row.slack_s for row in rows),
        overtime_s=sum(row.overtime_s for row in rows),
        spread_s=max(over, default=0) - min(over, default=0),
        cost=sum(rates.cost(row.work_s, row.drive_m, row.overtime_s) for row in rows),
    )


def _shift_s(technician: Technician, week: IsoWeek, closed: Collection[date]) -> int:
    """Seconds of the week's shifts without the meals, which are not paid, and holidays."""
    meal_s = 60 * technician.meal.minutes if technician.meal else 0
    shifts = (technician.shift_on(day) for day in week.days if day not in closed)
    return sum(max(0, one.end_s - one.start_s - meal_s) for one in shifts if one)


def _account(site: Site, took: Sequence[StopWork], rates: Rates, week: IsoWeek) -> Account:
    rhythm = site.plan.rhythm_in(week) or site.plan.rhythm
    a_month = MONTH_WEEKS * rhythm.visits_per_week / rhythm.every_weeks
    visit_s = sum(one.service_s - one.upkeep_s + one.drive_s for one in took) / len(took)
    visit_m = sum(one.drive_m for one in took) / len(took)
    return Account(
        site_id=site.id,
        site=site.name,
        visits=len(took),
        visit_s=visit_s,
        visits_a_month=a_month,
        cost_a_month=a_month * rates.cost(visit_s, visit_m),
        upkeep_s=sum(one.upkeep_s for one in took),
        price=site.plan.monthly_price,
    )


def _worst_first(one: Account) -> tuple[bool, float]:
    return one.margin is None, -one.cost_a_month if one.margin is None else one.margin
