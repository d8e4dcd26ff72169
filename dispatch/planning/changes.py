"""Which visits of a plan left their usual technician or weekday, and why."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from dispatch.clock import WEEKDAYS, weekday_name, weekday_short
from dispatch.planning.plan import Change, Route, Stop
from dispatch.planning.problem import Demand, Problem
from dispatch.words import _, joined


def changes(problem: Problem, routes: Sequence[Route]) -> tuple[Change, ...]:
    """Every visit away from its usual technician or weekday, in the order of the routes."""
    found = []
    for route in routes:
        for stop in route.stops:
            demand = problem.demand_of[stop.visit_id]
            if _has_moved(demand, route):
                found.append(
                    Change(
                        visit_id=stop.visit_id,
                        site_id=stop.site_id,
                        usual=_usual(problem, demand),
                        planned=f"{_name(problem, route.technician_id)}, {_short(route.day)}",
                        reason=_why(problem, demand, route, stop),
                    )
                )
    return tuple(found)


def _has_moved(demand: Demand, route: Route) -> bool:
    usual = demand.usual_technician_id
    return _day_moved(demand, route) or (usual is not None and usual != route.technician_id)


def _day_moved(demand: Demand, route: Route) -> bool:
    return bool(demand.usual_weekdays) and route.day.weekday() not in demand.usual_weekdays


def _usual(problem: Problem, demand: Demand) -> str:
    who = demand.usual_technician_id
    days = "/".join(_(WEEKDAYS[n]) for n in sorted(demand.usual_weekdays)) or _("any day")
    return f"{_name(problem, who) if who else 'anyone'}, {days}"


def _name(problem: Problem, technician_id: str) -> str:
    """Name of a technician; the id of one who has no truck-day this week."""
    names = (one.technician_name for one in problem.cells if one.technician_id == technician_id)
    return next(names, technician_id)


def _short(day: date) -> str:
    return weekday_short(day)


def _why(problem: Problem, demand: Demand, route: Route, stop: Stop) -> str:
    """The reason in a sentence: who is off, which day is closed, what the upkeep needs, or cost."""
    who = demand.usual_technician_id
    days = _usual_days(problem, demand, route)
    own = [one for one in problem.cells if one.technician_id == who] if who else problem.cells
    working = {one.day for one in own}
    if who and not own:
        return _("{who} does not work this week.").format(who=_name(problem, who))
    if days and not working & set(days):
        off = joined([weekday_name(day) for day in days])
        return (
            _("{who} is off on {off}.").format(who=_name(problem, who), off=off)
            if who
            else _("Nobody works on {off}.").format(off=off)
        )
    for item in demand.upkeep:
        lacking = item.skill is not None and not any(item.skill in one.skills for one in own)
        if item.id in stop.upkeep_ids and lacking:
            return _("Its {title} needs the skill '{skill}'.").format(
                title=_lower(_(item.title)), skill=item.skill
            )
    if stop.upkeep_ids:
        return _("Its upkeep this week fits there.")
    return _("The usual day is full, or the change saves more driving and waiting than it costs.")


def _usual_days(problem: Problem, demand: Demand, route: Route) -> list[date]:
    """The usual days of the week; the planned day where none is usual."""
    if not demand.usual_weekdays:
        return [route.day]
    return [day for day in problem.week.days if day.weekday() in demand.usual_weekdays]


def _lower(title: str) -> str:
    """A title inside a sentence: 'Sand change' becomes 'sand change', 'DE change' stays."""
    return title if title[:2].isupper() else title[:1].lower() + title[1:]
