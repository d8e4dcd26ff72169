"""Visits without an agreed weekday that come far off their rhythm, for the check list."""

from __future__ import annotations

from dispatch.edits.checklist import Facts, Point, State
from dispatch.edits.words import day_words
from dispatch.planning.variants import NEAR_DAYS
from dispatch.words import _, counted


def distance_point(facts: Facts) -> tuple[Point, ...]:
    """The visits that lie days farther off than they must; no point where all keep their rhythm."""
    said = _("{subject}, {day}: {days} days farther off its rhythm than it must.")
    lines = tuple(
        said.format(subject=facts.names.subject(stop.visit_id), day=day_words(route.day), days=days)
        for route in facts.plan.routes
        for stop in route.stops
        if (demand := facts.problem.demand_of.get(stop.visit_id)) is not None
        and (days := demand.days_off_rhythm(route.day)) > NEAR_DAYS
    )
    if not lines:
        return ()
    question = _("Do visits without an agreed weekday keep their distance from the last one?")
    answer = counted("{n} visit does not.", "{n} visits do not.", len(lines))
    return (Point("distance", question, State.LOOK, answer, lines),)
