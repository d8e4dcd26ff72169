"""How the visits of one week may lie on its days, so far apart as the rhythm wants them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from itertools import combinations, pairwise

Pattern = tuple[date, ...]
StandsFor = Mapping[date, frozenset[date]]  # an open day, and the agreed days it may replace

# Days from one visit to the next, the one from the last to the first of next week included, by
# visits per week; common practice.
PROPER_GAPS_DAYS: Mapping[int, Collection[int]] = {1: (7,), 2: (3, 4), 3: (2, 3)}
FAIR_GAPS_DAYS: Mapping[int, Collection[int]] = {2: (2, 5)}  # still worth having unasked


def gaps_days(pattern: Sequence[date]) -> tuple[int, ...]:
    """Days from each visit to the next; the last is to the first visit a week later."""
    inner = ((later - earlier).days for earlier, later in pairwise(pattern))
    return (*inner, 7 - (pattern[-1] - pattern[0]).days)


def proper_patterns(stands_for: StandsFor, visits: int) -> tuple[Pattern, ...]:
    """Patterns of `visits` days with the gaps that the rhythm wants, in date order."""
    return _with_gaps(stands_for, visits, PROPER_GAPS_DAYS[visits])


def agreeable_patterns(stands_for: StandsFor, visits: int) -> tuple[Pattern, ...]:
    """Proper patterns; where there are none, those nearly as good."""
    proper = proper_patterns(stands_for, visits)
    return proper or _with_gaps(stands_for, visits, FAIR_GAPS_DAYS.get(visits, ()))


def evenest_patterns(stands_for: StandsFor, visits: int) -> tuple[Pattern, ...]:
    """Proper patterns, else the evenest of as many visits, else patterns of fewer visits."""
    for count in range(visits, 0, -1):
        proper = proper_patterns(stands_for, count)
        if proper:
            return proper
        patterns = _all(stands_for, count)
        if patterns:
            best = min(map(unevenness, patterns))
            return tuple(one for one in patterns if unevenness(one) == best)
    return ()


def is_proper(pattern: Sequence[date]) -> bool:
    """Whether the days lie as far apart as the rhythm wants."""
    return set(gaps_days(pattern)) <= set(PROPER_GAPS_DAYS[len(pattern)])


def off_rhythm(
    patterns: Sequence[Pattern], last: date, visits: int, every_weeks: int
) -> dict[date, int]:
    """Days that begin a pattern, and how many days farther off the rhythm than the best of them.

    The rhythm wants the next visit a proper gap after `last`, the latest before all patterns: of
    `visits` per week, or once in `every_weeks`. A day that also comes later in a pattern is left
    out, for there it follows another visit.
    """
    proper = PROPER_GAPS_DAYS[visits] if visits > 1 else (7 * every_weeks,)
    later = {day for pattern in patterns for day in pattern[1:]}
    far = {
        pattern[0]: min(abs((pattern[0] - last).days - gap) for gap in proper)
        for pattern in patterns
        if pattern[0] not in later
    }
    least = min(far.values(), default=0)
    return {day: days - least for day, days in far.items() if days > least}


def unevenness(pattern: Pattern) -> int:
    """How far the gaps are from even ones, in days times the number of visits (whole numbers)."""
    return sum(abs(gap * len(pattern) - 7) for gap in gaps_days(pattern))


def _with_gaps(stands_for: StandsFor, visits: int, gaps: Collection[int]) -> tuple[Pattern, ...]:
    return tuple(one for one in _all(stands_for, visits) if set(gaps_days(one)) <= set(gaps))


def _all(stands_for: StandsFor, visits: int) -> list[Pattern]:
    """Rising patterns of days that can each stand for an agreed day of its own."""
    chosen = combinations(sorted(stands_for), visits)
    return [one for one in chosen if _matches([stands_for[day] for day in one], frozenset())]


def _matches(wanted: Sequence[frozenset[date]], taken: frozenset[date]) -> bool:
    """Whether each set can give a day of its own."""
    if not wanted:
        return True
    return any(_matches(wanted[1:], taken | {day}) for day in wanted[0] - taken)
