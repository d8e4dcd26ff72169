"""Broken rules of a plan in words, with their amounts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from dispatch.clock import WEEKDAYS
from dispatch.planning.check import Violation
from dispatch.planning.plan import Rule, WeekPlan


@dataclass(frozen=True, slots=True)
class Names:
    """What a person calls things: technicians and sites by id, sites and titles by subject."""

    technicians: Mapping[str, str]
    sites: Mapping[str, str]
    site_of: Mapping[str, str] = field(default_factory=dict)  # by visit or upkeep id
    titles: Mapping[str, str] = field(default_factory=dict)  # of upkeep

    def technician(self, technician_id: str | None) -> str:
        """Name of a technician; the id of an unknown one."""
        return self.technicians.get(technician_id or "", technician_id or "nobody")

    def subject(self, subject: str) -> str:
        """A visit by its customer, upkeep by its title and customer, a technician by name."""
        site_id = self.site_of.get(subject)
        if site_id is None:
            return self.technicians.get(subject, subject)
        customer = self.sites.get(site_id, site_id)
        title = self.titles.get(subject)
        return f"{title} at {customer}" if title else customer


def subjects_of(plan: WeekPlan) -> dict[str, str]:
    """Site by the id of each visit and upkeep of a plan."""
    found = {one.visit_id: one.site_id for one in plan.unplaced}
    found |= {one.upkeep_id: one.site_id for one in plan.put_off}
    for route in plan.routes:
        for stop in route.stops:
            found[stop.visit_id] = stop.site_id
            found |= dict.fromkeys(stop.upkeep_ids, stop.site_id)
    return found


def sentence_of(one: Violation, names: Names) -> str:
    """A broken rule as one sentence: what, where, by how much."""
    subject = names.subject(one.subject)
    who = names.technician(one.technician_id)
    day = _day(one.day)
    minutes = -(-int(one.amount) // 60)
    words = {
        Rule.DAY: f"{subject}: {_day_words(one, day)}",
        Rule.SHIFT: f"{who} {one.detail or 'is off'} ({day})",
        Rule.TECHNICIAN_LOCK: f"{subject} is locked to another technician than {who} ({day})",
        Rule.SKILL: f"{subject}: {who} lacks the skill '{one.detail}' ({day})",
        Rule.WINDOW: f"{subject} begins {minutes} min after its time window ({day}, {who})",
        Rule.OVERFULL: f"{who} ends {minutes} min beyond the shift ({day})",
        Rule.BREAK: f"{who} takes the meal {minutes} min too late ({day})",
        Rule.PAYLOAD: f"The truck of {who} is {one.amount:.0f} kg over its payload ({day})",
        Rule.CHEMICALS: f"The truck of {who} has {one.amount:.0f} kg of chemicals too much aboard "
        f"at once ({day})",
        Rule.CREW: f"{subject}: {one.amount:.0f} person too few aboard with {who} ({day})",
        Rule.UNWANTED: f"{subject} does not want {who} ({day})",
        Rule.HOURS: f"{who} works {minutes} min more than the week may hold",
        Rule.KEPT: f"{subject} does not stand where it is kept ({day}, {who})",
        Rule.GAP: f"{subject}: two visits are too close ({day})",
        Rule.DRIVE: f"{who} cannot drive there and back ({day})",
        Rule.COUNT: f"{subject} {one.detail}",
    }
    return f"{words[one.rule]}."


def _day_words(one: Violation, day: str) -> str:
    if one.day is None:
        return "its days this week are not among those agreed"
    return f"{one.detail or 'not on this day'} ({day})"


def _day(day: date | None) -> str:
    return f"{WEEKDAYS[day.weekday()]} {day.day}" if day else "this week"
