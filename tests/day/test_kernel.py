"""The steps of our own search over a rest of a day."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.day.kernel import NOWHERE, _old_order, total_s
from dispatch.day.own_search import cost_of, found_of, laid
from dispatch.day.rest import field_of
from tests.day.days import day_of, upset, work

ROUTES = {"T1": [1, 3, 5], "T2": [20, 22], "T3": [10, 12, 14]}


@settings(max_examples=15, deadline=None)
@given(st.permutations(range(8)), st.lists(st.integers(0, 8), min_size=2, max_size=2))
def test_an_old_order_is_put_back_whole(nodes: list[int], cuts: list[int]) -> None:
    """Its own stops come back in their order, strangers lose their place, nobody is doubled."""
    one = upset(day_of({who: [work(n) for n in sites] for who, sites in ROUTES.items()}))
    f, base = field_of(one.rest), one.rest.base
    low, high = sorted(cuts)
    orders = [tuple(nodes[:low]), tuple(nodes[low:high]), tuple(nodes[high:])]
    for cell in range(3):
        o, touched = laid(f, orders), np.zeros(3, dtype=np.int64)
        out = np.zeros(8, dtype=np.int64)
        taken = _old_order(f, o, touched, out, cell)
        after, strangers = found_of(f, o), set(orders[cell]) - set(base[cell])
        assert after.orders[cell] == base[cell]
        assert set(out[:taken].tolist()) == strangers
        assert all(o.cell_of[n] == NOWHERE for n in strangers)
        placed = [n for order in after.orders for n in order]
        assert sorted([*placed, *strangers]) == list(range(8))
        assert total_s(f, o) == cost_of(f, after.orders)
        changed = [r for r in range(3) if after.orders[r] != orders[r]]
        assert set(changed) <= set(np.flatnonzero(touched).tolist())
