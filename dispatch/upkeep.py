"""Upkeep: maintenance of equipment, due in a window of days and done on an ordinary visit.

Intervals run from the day the same upkeep was last done, never from the day it was due; visits
count from their anchor instead (see `visits`). The table of rules is in `upkeep_rules`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from dispatch.clock import IsoWeek
from dispatch.errors import InvalidValue
from dispatch.sites import Anode, Equipment, Filter, Media, SaltCell, Site
from dispatch.upkeep_rules import DEFAULT_RULES, CountsFrom, Part, UpkeepRule

__all__ = [
    "DEFAULT_RULES",
    "Part",
    "UnknownDate",
    "UpkeepDue",
    "UpkeepRule",
    "upkeep_due",
    "upkeep_unknown",
]

FILTER_MEDIA = {
    CountsFrom.SAND: Media.SAND,
    CountsFrom.CARTRIDGE: Media.CARTRIDGE,
    CountsFrom.DE: Media.DE,
}


@dataclass(frozen=True, slots=True)
class UpkeepDue:
    """One upkeep of one site that may, should or must be done in a week.

    It may be done from `earliest_on`, should be done on `due_on` and must be done by `latest_on`.
    `minutes` are added to the visit that carries it. `waste_kg` is what the truck brings back
    (wet sand is heavier than the dry sand that replaces it). `kind` is the id of its rule.
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

    def __post_init__(self) -> None:
        if not self.earliest_on <= self.due_on <= self.latest_on:
            raise InvalidValue(
                f"{self.title} at site {self.site_id}: earliest {self.earliest_on}, due "
                f"{self.due_on} and latest {self.latest_on} are not in this order."
            )

    @property
    def id(self) -> str:
        """Stable name, as 'S017/sand-change/2026-12-01'."""
        return f"{self.site_id}/{self.kind}/{self.due_on}"

    @property
    def mass_kg(self) -> float:
        """Payload it takes from a truck-day: the heavier of what goes out and what comes back."""
        return max(sum(part.mass_kg for part in self.parts), self.waste_kg)


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
    sites: Iterable[Site], week: IsoWeek, rules: Sequence[UpkeepRule] = DEFAULT_RULES
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

    Returns
    -------
    tuple of UpkeepDue
        In the order of `sites`, within a site in that of `rules`.
    """
    return tuple(due for site in sites for due in _due_at(site, week, rules))


def upkeep_unknown(
    sites: Iterable[Site], rules: Sequence[UpkeepRule] = DEFAULT_RULES
) -> tuple[UnknownDate, ...]:
    """List equipment whose upkeep has no date to count from, so that nothing is dropped silently.

    Every rule that applies to a site's equipment yields either a window or an entry here.
    """
    return tuple(
        UnknownDate(
            site.id,
            rule.kind,
            rule.title,
            f"Nobody knows when the {rule.title.lower()} was last done at {site.name}: look at the "
            "next visit, or ask the customer, and enter the date.",
        )
        for site in sites
        for rule in rules
        if _applies(rule.counts_from, site.equipment)
        and _last_done_on(rule.counts_from, site.equipment) is None
    )


def _due_at(site: Site, week: IsoWeek, rules: Sequence[UpkeepRule]) -> Iterator[UpkeepDue]:
    opened = {
        rule.kind: (rule, due)
        for rule in rules
        if (due := _window(site, rule)) is not None and due.earliest_on <= week.sunday
    }
    for kind, (_, due) in opened.items():
        others = (other for rule, other in opened.values() if kind in rule.spares)
        if not any(other.due_on <= due.latest_on for other in others):
            yield due


def _window(site: Site, rule: UpkeepRule) -> UpkeepDue | None:
    """The upkeep as it is due next, whenever that is; None where no date is known."""
    done_on = _last_done_on(rule.counts_from, site.equipment)
    if done_on is None:
        return None
    parts, waste_kg = rule.parts, 0.0
    if rule.media is not None:
        filling_kg = site.equipment.filter.media_mass_kg if site.equipment.filter else None
        parts = (rule.media.part(filling_kg), *rule.parts)
        waste_kg = rule.media.waste_kg(filling_kg)
    return UpkeepDue(
        site_id=site.id,
        kind=rule.kind,
        title=rule.title,
        earliest_on=rule.earliest.after(done_on),
        due_on=rule.due.after(done_on),
        latest_on=rule.latest.after(done_on),
        minutes=rule.minutes,
        skill=rule.skill,
        parts=parts,
        waste_kg=waste_kg,
        caution=rule.caution,
    )


def _applies(counts_from: CountsFrom, equipment: Equipment) -> bool:
    """Whether the site has the equipment at all."""
    if counts_from in FILTER_MEDIA:
        return equipment.filter is not None and equipment.filter.media is FILTER_MEDIA[counts_from]
    if counts_from in (CountsFrom.ANODE, CountsFrom.ANODE_FILM):
        return equipment.anode is not None
    return equipment.salt_cell is not None


def _last_done_on(counts_from: CountsFrom, equipment: Equipment) -> date | None:
    """The day from which the interval runs; None without such equipment or without a date."""
    if not _applies(counts_from, equipment):
        return None
    if counts_from in FILTER_MEDIA:
        return (equipment.filter or Filter(FILTER_MEDIA[counts_from])).media_changed_on
    anode = equipment.anode or Anode()
    cell = equipment.salt_cell or SaltCell()
    dates = {
        CountsFrom.ANODE: (anode.installed_on,),
        CountsFrom.ANODE_FILM: (anode.installed_on, anode.cleaned_on),
        CountsFrom.CELL_LOOK: (cell.installed_on, cell.inspected_on, cell.cleaned_on),
        CountsFrom.CELL_SCALE: (cell.installed_on, cell.cleaned_on),
    }[counts_from]
    return max((day for day in dates if day is not None), default=None)
