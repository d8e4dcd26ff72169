"""Forecasts of the lives of anodes, salt cells and filter media, from the register and records."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.equipment import Anode, SaltCell, SeasonHours
from dispatch.sites import Site, still_served
from dispatch.store.book import read_holds, read_sites
from dispatch.store.upkeep_history import read_changed_before, read_upkeep_done
from dispatch.store.upkeep_kinds import read_rules
from dispatch.upkeep_dates import applies, day_of_hours, hours_until, last_done_on
from dispatch.upkeep_forecast import (
    Forecast,
    Lives,
    day_after,
    fit_fleet,
    forecast_words,
    remaining,
)
from dispatch.upkeep_rules import UpkeepRule

KINDS = ("sand-change", "cartridge-change", "de-change", "anode-swap", "cell-replacement")
NEVER_DAYS = 1e9  # of a cell that does not run
TOLD_TWICE = timedelta(days=14)  # between two records of one change, by two people or typed anew
MOST_FITTED = 200  # sites that the fleet is fitted to; more change its mean by less than 2 %


@dataclass(frozen=True, slots=True)
class _Part:
    """A part at a site with its lives; `hours` where they are counted in run-hours."""

    site: Site
    lives: Lives
    hours: SeasonHours | None


def forecasts(session: Session, today: date, site_id: str | None = None) -> tuple[Forecast, ...]:
    """Forecast of every part whose age is known, or of those of one site; soonest first.

    Parts of sites that have left say how long such parts last, and are not forecast themselves.
    """
    sites, done = read_sites(session), _changes(session)
    rules = [rule for rule in read_rules(session) if rule.kind in KINDS and rule.active]
    served = {site.id for site in still_served(sites, read_holds(session), today)}
    asked = served if site_id is None else served & {site_id}
    found = [
        one
        for rule in rules
        for by_hours in (True, False)
        for one in _of_kind(rule, list(_parts(rule, sites, done, today, by_hours)), today, asked)
    ]
    return tuple(sorted(found, key=lambda one: (one.due_on, one.site_id, one.kind)))


def forecast_list(found: Iterable[Forecast]) -> ListTable:
    """Forecasts with their 80 % interval."""
    columns = ("site_id", "upkeep", "due_on", "low_on", "high_on", "earlier_lives", "words")
    rows = tuple(
        (one.site_id, one.title, one.due_on, one.low_on, one.high_on, one.lives, one.words)
        for one in found
    )
    return ListTable(columns, rows)


def _parts(
    rule: UpkeepRule,
    sites: Iterable[Site],
    done: Mapping[tuple[str, str], Sequence[date]],
    today: date,
    by_hours: bool,
) -> Iterator[_Part]:
    for site in sites:
        began_on = last_done_on(rule.counts_from, site.equipment)
        if not applies(rule, site.equipment) or began_on is None or began_on > today:
            continue
        cell = site.equipment.salt_cell or SaltCell()
        hours = cell.hours_per_day if rule.kind == "cell-replacement" else None
        if (hours is not None) is not by_hours:
            continue
        days = _changed_on(began_on, done.get((site.id, rule.kind), ()))
        spans = [_length(a, b, hours) for a, b in pairwise(days)]
        lives = Lives(
            site.id, tuple(one for one in spans if one > 0), _length(began_on, today, hours)
        )
        if rule.kind == "anode-swap":
            lives = _with_eye(lives, site.equipment.anode or Anode(), rule.threshold or 0.5)
        yield _Part(site, lives, hours)


def _changes(session: Session) -> dict[tuple[str, str], list[date]]:
    """Days of changes by site and kind: recorded ones, and those that the register knew before."""
    found = defaultdict(list, read_changed_before(session))
    for site_id, deeds in read_upkeep_done(session).items():
        for one in deeds:
            found[site_id, one.kind].append(one.on)
    return found


def _changed_on(began_on: date, changes: Iterable[date]) -> list[date]:
    """Days of changes up to that of the part in use, which the register knows.

    A change that was recorded twice within two weeks is one, on the later day, as in the register:
    a life of three days would make every part of the fleet seem to die young.
    """
    days = sorted({began_on, *(day for day in changes if day < began_on)})
    again = {one for one, following in pairwise(days) if following - one <= TOLD_TWICE}
    return [one for one in days if one not in again]


def _with_eye(lives: Lives, anode: Anode, spent_at: float) -> Lives:
    if anode.judged_on is None or anode.installed_on is None or anode.remaining_share is None:
        return lives
    at = float((anode.judged_on - anode.installed_on).days)
    if at <= 0:
        return lives
    return replace(lives, left=anode.remaining_share, left_at=at, spent_at=spent_at)


def _of_kind(
    rule: UpkeepRule, parts: Sequence[_Part], today: date, asked: Set[str]
) -> Iterator[Forecast]:
    wanted = [part for part in parts if part.site.id in asked]
    if not wanted or rule.due is None:
        return
    usual = (rule.due.after(today) - today).days
    if parts[0].hours is not None and rule.run_hours is not None:
        usual = round(rule.run_hours)
    every = max(1, -(-len(parts) // MOST_FITTED))
    fleet = fit_fleet([part.lives for part in parts][::every], float(usual))
    for part, left in zip(wanted, remaining(fleet, [one.lives for one in wanted]), strict=True):
        due, low, high = (_day(one, part, today) for one in (left.due, left.low, left.high))
        made = Forecast(part.site.id, rule.kind, rule.title, due, low, high, len(part.lives.ended))
        yield replace(made, words=forecast_words(made))


def _day(left: float, part: _Part, today: date) -> date:
    if part.hours is None:
        return day_after(today, left)
    return day_of_hours(today, part.hours, left) or day_after(today, NEVER_DAYS)


def _length(start: date, end: date, hours: SeasonHours | None) -> float:
    if hours is not None:
        return hours_until(start, hours, end)
    return float((end - start).days)
