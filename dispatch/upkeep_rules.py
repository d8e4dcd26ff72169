"""Rules of upkeep: what ages at a site, how fast, and what it takes to put it right.

Every number carries where it comes from:
(a) a published page of the trade was read; (b) published, value from memory; (c) common practice
of the trade, no source; (calc) computed here. None was measured in the field, and the maker's
manual comes before all of them: a company changes the table to its own experience.

Intervals are the calendar backstop. A reading beats the calendar (a filter that no longer comes
back to its clean pressure, scale seen on a cell); the date then simply comes earlier.

What was settled
    Sand: pages read give 3-5, 5, 5-6, 5-7 and about 7 years (a), a realistic span is 4-6 (c);
    due after 5 years, not before 4 1/2, not after 6.
    Cartridge: pages read give 1-2, 3-5 and 2-5 years (a); due after 3, latest after 4. It is
    lifted out and swapped, so it needs no skill beyond a technician's own.
    DE: the filter is taken apart once a year (a), its grids cleaned and recharged.
    Anode: swapped after about 3 years (a; another page says 4-5), earlier in hard service (c),
    at the latest half a year on. Between swaps it is looked at every 3-6 months (c) and the film
    brushed off once a season (c); both are one handling of the same part, so the cleaning comes
    every 6 months, a season being half a year of use.
    Cell inspection: every 3 months (a; another page says monthly). It carries the decision: a
    cell is cleaned when scale is seen, and needless acid strips its coating (c).
    Cell cleaning: no calendar is published, because scale decides. A year is the backstop for
    a cell in which nobody has reported scale (c); whoever finds no scale leaves the acid shut.
    Cell replacement: by run-hours, of which a maker rates about 10,000 (a-low), because the same
    cell is spent after 2.3 years at 12 h a day and after 5.6 at 10 h in half the year (calc).
    Backwash and DE recharge: pressure decides, never the calendar (a).
    Drain covers: the date on the cover; loose, cracked or missing closes the pool at once (a).
    Minutes are what the visit grows by, not how long the job lasts: a soaking cell (20-30 min
    gross, 10-15 net) bubbles while the pool is brushed.
"""

from __future__ import annotations

from collections.abc import Iterable

from dispatch.errors import NotFound
from dispatch.filter_rules import FILTER_RULES, MEDIA_SKILL, SAND_BAG_KG
from dispatch.plant_rules import GAS_SKILL, PLANT_RULES
from dispatch.upkeep_kinds import (
    CountsFrom,
    Interval,
    MediaLoad,
    Part,
    Trigger,
    UpkeepRule,
)
from dispatch.words import _

__all__ = [
    "DEFAULT_RULES",
    "GAS_SKILL",
    "MEDIA_SKILL",
    "SAND_BAG_KG",
    "CountsFrom",
    "Interval",
    "MediaLoad",
    "Part",
    "Trigger",
    "UpkeepRule",
    "rule_of",
]

DEFAULT_RULES: tuple[UpkeepRule, ...] = (*FILTER_RULES, *PLANT_RULES)


def rule_of(kind: str, rules: Iterable[UpkeepRule] = DEFAULT_RULES) -> UpkeepRule:
    """The kind of upkeep of this id.

    Raises
    ------
    NotFound
        When there is none; the message names those there are.
    """
    known = {rule.kind: rule for rule in rules}
    if kind not in known:
        raise NotFound(
            _("There is no upkeep '{kind}': give one of {known}.").format(
                kind=kind, known=", ".join(sorted(known))
            )
        )
    return known[kind]
