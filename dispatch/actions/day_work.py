"""What the visits of a day ask for, taken down when the day is published."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

from sqlmodel import Session

from dispatch.actions.due import owed
from dispatch.actions.open_work import all_work
from dispatch.actions.sites_of_week import sites_of_week
from dispatch.clock import IsoWeek
from dispatch.day.work import Work
from dispatch.planning.plan import Route, Stop
from dispatch.settings import Settings
from dispatch.store.book import read_holds, read_technicians
from dispatch.store.one_off_stops import read_one_off_days
from dispatch.store.plans import read_plan_upkeep

if TYPE_CHECKING:
    from dispatch.due_visits import VisitsDue
    from dispatch.sites import Site
    from dispatch.upkeep import UpkeepDue


class WorkBook:
    """Finds what a stop of a week's plan asks for.

    What is owed is seen as before the week began, so that visits done meanwhile stay known. A
    visit that is owed no more is taken as its site's agreement has it.
    """

    def __init__(self, session: Session, settings: Settings, week: IsoWeek) -> None:
        sites = sites_of_week(session, week)
        due = owed(
            settings,
            week,
            week.monday,
            sites=sites,
            technicians=read_technicians(session),
            holds=read_holds(session),
            one_offs=all_work(session, settled=True),
            planned=read_one_off_days(session, week),
        ).due
        self._sites = {site.id: site for site in sites}
        self._due = {one.visit_id(n + 1): (one, n) for one in due for n in range(one.count)}
        self._upkeep = read_plan_upkeep(session, week)

    def work_of(self, stop: Stop, day: date) -> Work:
        """What a stop on `day` asks for."""
        upkeep = [self._upkeep[one] for one in stop.upkeep_ids if one in self._upkeep]
        if stop.visit_id in self._due:
            return _as_owed(stop, *self._due[stop.visit_id], upkeep)
        return _as_agreed(stop, self._sites[stop.site_id], day, upkeep)

    def works_of(self, routes: Mapping[str, Route]) -> dict[str, Work]:
        """What every stop of these routes asks for, by visit."""
        return {
            stop.visit_id: self.work_of(stop, route.day)
            for route in routes.values()
            for stop in route.stops
        }


def _as_owed(stop: Stop, due: VisitsDue, number: int, upkeep: list[UpkeepDue]) -> Work:
    from dispatch.planning.lay_out import IMPORTANCE

    return Work(
        visit_id=stop.visit_id,
        site_id=stop.site_id,
        service_s=stop.leave_s - stop.start_s,
        windows=due.windows,
        skills=due.skills | _skills(upkeep),
        usual_technician_id=due.usual_technician_id,
        technician_locked=due.technician_locked,
        unwanted_technician_ids=due.unwanted_technician_ids,
        load_kg=due.mass_kg + due.chemicals_kg + _mass_kg(upkeep),
        chemicals_kg=due.chemicals_kg,
        crew=due.crew,
        importance=IMPORTANCE[due.priority],
        days=tuple(sorted({pattern[number] for pattern in due.patterns})),
        upkeep_ids=stop.upkeep_ids,
        title=due.title,
    )


def _as_agreed(stop: Stop, site: Site, day: date, upkeep: list[UpkeepDue]) -> Work:
    from dispatch.planning.lay_out import IMPORTANCE

    plan = site.plan
    return Work(
        visit_id=stop.visit_id,
        site_id=stop.site_id,
        service_s=stop.leave_s - stop.start_s,
        windows=plan.windows,
        skills=plan.skills | _skills(upkeep),
        usual_technician_id=plan.usual_technician_id,
        technician_locked=plan.technician_locked,
        unwanted_technician_ids=plan.unwanted_technician_ids,
        load_kg=plan.chemicals_kg + _mass_kg(upkeep),
        chemicals_kg=plan.chemicals_kg,
        crew=plan.crew,
        importance=IMPORTANCE[plan.priority],
        days=(day,),
        upkeep_ids=stop.upkeep_ids,
    )


def _skills(upkeep: list[UpkeepDue]) -> frozenset[str]:
    return frozenset(item.skill for item in upkeep if item.skill)


def _mass_kg(upkeep: list[UpkeepDue]) -> float:
    return sum(item.mass_kg for item in upkeep)
