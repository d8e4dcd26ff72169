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
