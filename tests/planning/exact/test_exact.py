"""The search against a constraint model on small weeks with every rule in them."""

from __future__ import annotations

import pytest

from tests.planning.exact.agreement import compare
from tests.planning.exact.weeks import small_week


@pytest.mark.parametrize("seed", range(12))
def test_the_search_finds_the_proven_optimum_of_a_small_week(seed: int) -> None:
    """Dearer is a weak search, cheaper a rule forgotten; model, score and check must agree."""
    one = compare(small_week(seed))
    assert one.same_rules
    assert one.found_s == one.believed_s == one.least_s
