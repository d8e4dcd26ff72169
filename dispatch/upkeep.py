"""Upkeep: maintenance of equipment, due in a window of days and done on an ordinary visit.

Due is the earliest of the calendar, the run-hours (`upkeep_dates`) and the condition
(`upkeep_conditions`): condition beats calendar, and the calendar is the backstop. The table of
rules is in `upkeep_rules`.

What is settled here
    Skipped visits: an upkeep stays listed until it was done, however late it is.
    Season: a kind that keeps to some months is left out of the others, unless its latest day
    would pass before the season opens again; what a condition brought about is never left out.
    A look that found nothing (no scale in the cell) takes the upkeep off the list until the next
    look says otherwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from dispatch.clock import IsoWeek
from dispatch.errors import InvalidValue
from dispatch.sites import Site
from dispatch.upkeep_causes import Cause, DueBy
from dispatch.upkeep_conditions import NO_HISTORY, History, is_ruled_out, window_by_condition
from dispatch.upkeep_dates import Window, applies, earliest_of, last_done_on, window_of
from dispatch.upkeep_rules import DEFAULT_RULES, CountsFrom, Part, UpkeepRule
from dispatch.words import _

__all__ = [
    "DEFAULT_RULES",
    "Part",
    "UnknownDate",
    "UpkeepDue",
    "UpkeepRule",
    "next_upkeep",
    "upkeep_due",
    "upkeep_unknown",
]

NO_HISTORIES: Mapping[str, History] = {}
SEASON_LOOK_DAYS = 366  # days in which a season opens again


@dataclass(frozen=True, slots=True)
class UpkeepDue:
    """One upkeep of one site that may, should or must be done in a week.

    It may be done from `earliest_on`, should be done on `due_on` and must be done by `latest_on`.
    `minutes` are added to the visit that carries it. `waste_kg` is what the truck brings back
    (wet sand is heavier than the dry sand that replaces it). `kind` is the id of its rule.
    `gross_minutes` (0: the same) is how long the job lasts, `crew` how many people it wants.
    `cause` says why it is due. `closes_pool` marks what lets nobody bathe until it is done.
    `set_for` is the Monday of the week that levelling has set it for, None without levelling.
    """

    site_id: str
    kind: str
    title: str
    earliest_on: date
    due_on: date
    latest_on: date
    minutes: int
    skill: str | None = None
    parts: tuple[Part, ...] = ()
    waste_kg: float = 0.0
    caution: str = ""
    gross_minutes: int = 0
    crew: int = 1
    cause: Cause | None = None
    closes_pool: bool = False
    set_for: date | None = None

    def __post_init__(self) -> None:
        if not self.earliest_on <= self.due_on <= self.latest_on:
            raise InvalidValue(
                _(
                    "{title} at site {site}: earliest {earliest}, due {due} and latest "
                    "{latest} are not in this order."
                ).format(
                    title=self.title,
                    site=self.site_id,
                    earliest=self.earliest_on,
                    due=self.due_on,
                    latest=self.latest_on,
                )
            )

    @property
    def id(self) -> str:
        """Stable name, as 'S017/sand-change/2026-12-01'."""
        return f"{self.site_id}/{self.kind}/{self.due_on}"

    @property
    def mass_kg(self) -> float:
        """Payload it takes from a truck-day: the heavier of what goes out and what comes back."""
        return max(sum(part.mass_kg for part in self.parts), self.waste_kg)

    @property
    def wanted_on(self) -> date:
        """The day by which planning wants it done: due, or earlier where levelling set a week."""
        if self.set_for is None:
            return self.due_on
        return min(self.due_on, self.set_for + timedelta(days=6))

    @property
    def is_urgent(self) -> bool:
        """Whether a condition asks for it at the very next visit, or the pool is closed."""
        return self.closes_pool or (self.cause is not None and self.cause.by is DueBy.CONDITION)


@dataclass(frozen=True, slots=True)
class UnknownDate:
    """Equipment whose upkeep cannot be dated because nobody knows when it was last done.

    `mend` is a whole sentence: what is missing, and what to do.
    """

    site_id: str
    kind: str
    title: str
    mend: str


def upkeep_due(
    sites: Iterable[Site],
    week: IsoWeek,
    rules: Sequence[UpkeepRule] = DEFAULT_RULES,
    histories: Mapping[str, History] = NO_HISTORIES,
) -> tuple[UpkeepDue, ...]:
    """List the upkeep that may be done in a week, and all that is overdue.

    An upkeep is listed from the week in which its window opens until its date is moved by having
    been done: `latest_on` may lie in the past, and nothing drops out by growing old. A kind that
    another one spares (`UpkeepRule.spares`) is left out when the other may be done this week and
    is due no later than the day by which the spared one must be done; being due, the other one
    stays listed.

    Parameters
    ----------
    sites
        The book; sites without visits in the week are looked at too.
    week
        The ISO week; the window counts as open when it opens by its Sunday.
    rules
        The kinds of upkeep.
    histories
        Readings and upkeep done by site id; a site may be missing.

    Returns
    -------
    tuple of UpkeepDue
        In the order of `sites`, within a site in that of `rules`.
    """
    return tuple(
        due
        for site in sites
        for due in _due_at(site, week, rules, histories.get(site.id, NO_HISTORY))
    )


def next_upkeep(site: Site, rule: UpkeepRule, history: History = NO_HISTORY) -> UpkeepDue | None:
    """The upkeep of one kind as it is due next, whenever that is; None where nothing is known."""
    if not rule.active or is_ruled_out(rule, site.equipment):
        return None
    by_date = window_of(rule, site.equipment)
    by_condition = window_by_condition(rule, site.equipment, history)
    window = earliest_of([one for one in (by_condition, by_date) if one is not None])
    if window is None:
        return None
    if by_condition is not None:  # beats the calendar, also one that was due already
        window = replace(window, cause=by_condition.cause)
    return as_due(site, rule, window)


def upkeep_unknown(
    sites: Iterable[Site], rules: Sequence[UpkeepRule] = DEFAULT_RULES
) -> tuple[UnknownDate, ...]:
    """List equipment whose upkeep has no date to count from, so that nothing is dropped silently.

    Every active rule with an interval that applies to a site's equipment yields either a window
    or an entry here; so do drain covers without the date that stands on them.
    """
    return tuple(
        UnknownDate(site.id, rule.kind, rule.title, _mend(site, rule))
        for site in sites
        for rule in rules
        if rule.active
        and (rule.due is not None or rule.counts_from is CountsFrom.COVER_DATE)
        and applies(rule, site.equipment)
        and last_done_on(rule.counts_from, site.equipment) is None
    )


def as_due(site: Site, rule: UpkeepRule, window: Window) -> UpkeepDue:
    """The upkeep of a window, with what it takes at this site."""
    parts, waste_kg = rule.parts, 0.0
    if rule.media is not None:
        filling_kg = site.equipment.filter.media_mass_kg if site.equipment.filter else None
        parts = (rule.media.part(filling_kg), *rule.parts)
        waste_kg = rule.media.waste_kg(filling_kg)
    return UpkeepDue(
        site_id=site.id,
        kind=rule.kind,
        title=rule.title,
        earliest_on=window.earliest_on,
        due_on=window.due_on,
        latest_on=window.latest_on,
        minutes=rule.minutes,
        skill=rule.skill,
        parts=parts,
        waste_kg=waste_kg,
        caution=rule.caution,
        gross_minutes=rule.gross,
        crew=rule.crew,
        cause=window.cause,
        closes_pool=rule.closes_pool and _closes_now(window),
    )


def _due_at(
    site: Site, week: IsoWeek, rules: Sequence[UpkeepRule], history: History
) -> Iterator[UpkeepDue]:
    opened = {
        rule.kind: (rule, due)
        for rule in rules
        if (due := next_upkeep(site, rule, history)) is not None
        and due.earliest_on <= week.sunday
        and not _is_out_of_season(rule, due, week)
    }
    for kind, (_rest, due) in opened.items():
        others = (other for rule, other in opened.values() if kind in rule.spares)
        spared = any(other.due_on <= max(due.latest_on, week.sunday) for other in others)
        if due.is_urgent or not spared:
            yield _closed_by_date(due, week)


def _is_out_of_season(rule: UpkeepRule, due: UpkeepDue, week: IsoWeek) -> bool:
    """Whether it waits for a month of its season that comes before its latest day."""
    if due.is_urgent or any(rule.is_offered_in(day) for day in week.days):
        return False
    days = min((due.latest_on - week.sunday).days, SEASON_LOOK_DAYS)
    return any(rule.is_offered_in(week.sunday + timedelta(days=n + 1)) for n in range(days))


def _closed_by_date(due: UpkeepDue, week: IsoWeek) -> UpkeepDue:
    """The upkeep, closing the pool where the date on a cover has passed."""
    by_date = due.cause is not None and due.cause.by is DueBy.DATE_ON_IT
    return replace(due, closes_pool=True) if by_date and due.latest_on < week.monday else due


def _closes_now(window: Window) -> bool:
    """Whether a cover was found unsound; a date still to come closes nothing."""
    return window.cause.by is DueBy.CONDITION


def _mend(site: Site, rule: UpkeepRule) -> str:
    if rule.counts_from is CountsFrom.COVER_DATE:
        return _(
            "Nobody knows the date on the drain covers at {name}: read it at the next "
            "visit and enter it."
        ).format(name=site.name)
    return _(
        "Nobody knows when the {title} was last done at {name}: look at the next visit, or "
        "ask the customer, and enter the date."
    ).format(title=_(rule.title).lower(), name=site.name)
