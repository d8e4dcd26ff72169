"""Stops of a week's plan that come on another day than planned, or not at all: a word for each.

The check list says the same in sentences, with what brings such a stop to its planned day.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from sqlmodel import Session

from dispatch.actions.day_moved import Settled, settled_by_repairs
from dispatch.actions.day_twice import Elsewhere, driven_off_plan
from dispatch.actions.week_publish import PublishedDay
from dispatch.edits.words import day_words
from dispatch.planning.plan import WeekPlan
from dispatch.words import _


def elsewhere_words(
    session: Session, plan: WeekPlan, published: Mapping[date, PublishedDay], today: date
) -> dict[str, str]:
    """By visit, where it comes instead of its planned place; `published` are the week's days."""
    found = {
        visit_id: _driven_word(one)
        for visit_id, one in driven_off_plan(session, plan, today).items()
    }
    if any(one.repair for one in published.values()):
        for day in (one for one in plan.week.days if one >= today):
            settled = settled_by_repairs(session, day)
            stops = [stop for route in plan.routes if route.day == day for stop in route.stops]
            found |= {
                stop.visit_id: _settled_word(settled[stop.visit_id])
                for stop in stops
                if stop.visit_id in settled
            }
    return found


def _driven_word(one: Elsewhere) -> str:
    said = _("still published for {day}")
    if one.has_happened:
        said = _("somebody was there on {day}: nobody comes")
    elif one.has_begun:
        said = _("stays on {day}, which is under way")
    return said.format(day=day_words(one.day))


def _settled_word(one: Settled) -> str:
    if one.to_day is None:
        return _("called off by a repair: nobody comes")
    return _("brought to {day} by a repair").format(day=day_words(one.to_day))
