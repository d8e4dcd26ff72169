"""Broken rules of a plan in words, with their amounts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from dispatch.clock import weekday_short
from dispatch.measures import kept_amount, measured
from dispatch.planning.check import Violation
from dispatch.planning.plan import Rule, WeekPlan
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class Names:
    """What a person calls things: technicians and sites by id, sites and titles by subject."""

    technicians: Mapping[str, str]
    sites: Mapping[str, str]
    site_of: Mapping[str, str] = field(default_factory=dict)  # by visit or upkeep id
    titles: Mapping[str, str] = field(default_factory=dict)  # of upkeep

    def technician(self, technician_id: str | None) -> str:
        """Name of a technician; the id of an unknown one."""
        return self.technicians.get(technician_id or "", technician_id or _("nobody"))

    def subject(self, subject: str) -> str:
        """A visit by its customer, upkeep by its title and customer, a technician by name."""
        site_id = self.site_of.get(subject)
        if site_id is None:
            return self.technicians.get(subject, subject)
        customer = self.sites.get(site_id, site_id)
        title = self.titles.get(subject)
        return (
            _("{title} at {customer}").format(title=title, customer=customer) if title else customer
        )


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
    day = day_words(one.day)
    minutes, mass = -(-int(one.amount) // 60), measured(kept_amount(one.amount, "kg"))
    words = {
        Rule.DAY: f"{subject}: {_day_rule_words(one, day)}",
        Rule.SHIFT: _("{who} {what} ({day})").format(
            who=who, what=one.detail or _("is off"), day=day
        ),
        Rule.TECHNICIAN_LOCK: _(
            "{subject} is locked to another technician than {who} ({day})"
        ).format(subject=subject, who=who, day=day),
        Rule.SKILL: _("{subject}: {who} lacks the skill '{detail}' ({day})").format(
            subject=subject, who=who, detail=one.detail, day=day
        ),
        Rule.WINDOW: _(
            "{subject} begins {minutes} min after its time window ({day}, {who})"
        ).format(subject=subject, minutes=minutes, day=day, who=who),
        Rule.OVERFULL: _("{who} ends {minutes} min beyond the shift ({day})").format(
            who=who, minutes=minutes, day=day
        ),
        Rule.BREAK: _("{who} takes the meal {minutes} min too late ({day})").format(
            who=who, minutes=minutes, day=day
        ),
        Rule.PAYLOAD: _("The truck of {who} is {mass} over its payload ({day})").format(
            who=who, mass=mass, day=day
        ),
        Rule.CHEMICALS: _(
            "The truck of {who} has {mass} of chemicals too much aboard at once ({day})"
        ).format(who=who, mass=mass, day=day),
        Rule.CREW: _("{subject}: {amount:.0f} person too few aboard with {who} ({day})").format(
            subject=subject, amount=one.amount, who=who, day=day
        ),
        Rule.UNWANTED: _("{subject} does not want {who} ({day})").format(
            subject=subject, who=who, day=day
        ),
        Rule.HOURS: _("{who} works {minutes} min more than the week may hold").format(
            who=who, minutes=minutes
        ),
        Rule.KEPT: _("{subject} does not stand where it is kept ({day}, {who})").format(
            subject=subject, day=day, who=who
        ),
        Rule.GAP: _("{subject}: two visits are too close ({day})").format(subject=subject, day=day),
        Rule.DRIVE: _("{who} cannot drive there and back ({day})").format(who=who, day=day),
        Rule.COUNT: f"{subject} {one.detail}",
        Rule.FALSE: f"{subject}: {one.detail} ({day})",
    }
    return f"{words[one.rule]}."


def _day_rule_words(one: Violation, day: str) -> str:
    if one.day is None:
        return _("its days this week are not among those agreed")
    return _("{what} ({day})").format(what=one.detail or _("not on this day"), day=day)


def day_words(day: date | None) -> str:
    """A day in short, as 'Mon 30'; the week where it is about no day."""
    if day is None:
        return _("this week")
    return _("{weekday} {day}").format(weekday=weekday_short(day), day=day.day)


def time_words(seconds: int) -> str:
    """Hours and minutes, as '7 h 05'; below zero with a sign."""
    minutes = abs(seconds) // 60
    sign = "-" if seconds < 0 else ""
    if minutes < 60:
        return _("{sign}{minutes} min").format(sign=sign, minutes=minutes)
    said = _("{sign}{hours} h {minutes:02d}")
    return said.format(sign=sign, hours=minutes // 60, minutes=minutes % 60)
