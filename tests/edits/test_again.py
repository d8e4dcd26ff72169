from __future__ import annotations

from dataclasses import replace

from dispatch.edits.again import draft_again
from dispatch.edits.draft import draft_of
from dispatch.edits.fixed import without_routes
from dispatch.edits.locks import Kept
from dispatch.edits.moves import where_is
from dispatch.planning.problem import Hours
from tests.planning.weeks import MON, TUE, by_hand, cell, demand, on_a_line, problem


def test_a_published_day_that_is_over_counts_once_into_the_hours() -> None:
    """50 minutes on Monday, as many on Tuesday, and 100 are allowed: Tuesday keeps its visit."""
    pools = [demand("S1", 1, MON), demand("S2", 1, TUE)]
    week = problem(on_a_line(0, 10), [cell(), cell(day=TUE)], pools)
    week = replace(week, hours=(Hours("T1", most_s=100 * 60),))
    before = by_hand(week, [0], [1])
    monday = before.routes[0]
    on_tuesday = without_routes(week, {("T1", MON)}, [monday])
    kept = Kept(frozenset({("T1", MON)}), {})
    draft = draft_of(before.routes)
    again, _rounds = draft_again(on_tuesday, draft, before, kept, seed=1, iterations=50)
    assert where_is(again, "S2/2026-W49/1") == ("T1", TUE)
