"""How visits of one week may lie on its days."""

from collections.abc import Iterable
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from dispatch.clock import IsoWeek
from dispatch.day_spacing import (
    agreeable_patterns,
    evenest_patterns,
    gaps_days,
    is_proper,
    off_rhythm,
    proper_patterns,
)

MON, TUE, WED, THU, FRI, SAT, SUN = IsoWeek(2026, 49).days


def themselves(days: Iterable[date]) -> dict[date, frozenset[date]]:
    return {day: frozenset({day}) for day in days}


def test_gaps_go_on_into_the_next_week() -> None:
    """By hand: Monday to Wednesday 2, to Friday 2, to Monday 3; one visit a week is 7 apart."""
    assert gaps_days((MON, WED, FRI)) == (2, 2, 3)
    assert gaps_days((TUE,)) == (7,)


def test_three_visits_on_working_days_are_monday_wednesday_friday() -> None:
    """Every other choice has two neighbouring days, or four days without a visit."""
    assert proper_patterns(themselves([MON, TUE, WED, THU, FRI]), 3) == ((MON, WED, FRI),)


def test_three_visits_are_no_neighbours_across_sunday_either() -> None:
    """Tuesday, Thursday, Saturday and so on are right; Monday, Wednesday, Sunday is not."""
    patterns = proper_patterns(themselves([MON, TUE, WED, THU, FRI, SAT, SUN]), 3)
    assert (TUE, THU, SAT) in patterns
    assert (MON, WED, SUN) not in patterns
    assert len(patterns) == 7  # the gaps 2, 2, 3 in their three turns, begun where they fit


def test_three_visits_without_a_proper_pattern_come_as_even_as_they_can() -> None:
    """Of Monday to Thursday, one neighbouring pair cannot be helped; two would be worse."""
    patterns = evenest_patterns(themselves([MON, TUE, WED, THU]), 3)
    assert patterns == ((MON, TUE, THU), (MON, WED, THU))
    assert not is_proper(patterns[0])


def test_fewer_days_than_visits_give_fewer_visits() -> None:
    """Two days for three visits: both, three or four days apart or not."""
    assert evenest_patterns(themselves([MON, TUE]), 3) == ((MON, TUE),)
    assert evenest_patterns(themselves([]), 3) == ()


def test_a_pair_two_days_apart_is_agreeable_and_a_neighbouring_one_is_not() -> None:
    """Common practice: half a week apart, or nearly."""
    assert agreeable_patterns(themselves([MON, TUE, WED]), 2) == ((MON, WED),)
    assert agreeable_patterns(themselves([MON, TUE]), 2) == ()


@given(
    st.frozensets(st.sampled_from([MON, TUE, WED, THU, FRI, SAT, SUN]), min_size=1),
    st.integers(1, 3),
)
def test_the_most_visits_that_there_are_days_for_are_laid(
    days: frozenset[date], visits: int
) -> None:
    """Nothing is dropped while there is a day, and all patterns are alike, rising and apart."""
    patterns = evenest_patterns(themselves(days), visits)
    assert {len(pattern) for pattern in patterns} == {min(visits, len(days))}
    for pattern in patterns:
        assert list(pattern) == sorted(set(pattern))
        assert sum(gaps_days(pattern)) == 7
    proper = proper_patterns(themselves(days), visits)
    assert not proper or patterns == proper


@given(st.data())
def test_days_that_stand_for_fewer_agreed_days_than_visits_make_no_pattern(
    data: st.DataObject,
) -> None:
    """The days before and after one holiday replace one visit, never two."""
    days = data.draw(st.lists(st.sampled_from([MON, TUE, WED, THU, FRI]), min_size=2, unique=True))
    for_one = {day: frozenset({SAT}) for day in days}
    assert proper_patterns(for_one, 2) == ()
    assert all(len(pattern) == 1 for pattern in evenest_patterns(for_one, 3))


def each_alone(*days: date) -> tuple[tuple[date, ...], ...]:
    return tuple((day,) for day in days)


def test_a_weekly_visit_keeps_its_distance_from_the_last_one() -> None:
    """Seen last Thursday: on Thursday again, on Monday only four days after."""
    last = THU - timedelta(weeks=1)
    found = off_rhythm(each_alone(MON, TUE, WED, THU, FRI), last, 1, 1)
    assert found == {MON: 3, TUE: 2, WED: 1, FRI: 1}


def test_a_visit_every_second_week_keeps_a_fortnight() -> None:
    """Seen on the Friday of the week before last."""
    last = FRI - timedelta(weeks=2)
    assert off_rhythm(each_alone(MON, FRI), last, 1, 2) == {MON: 4}


def test_of_two_visits_a_week_only_the_first_follows_last_week() -> None:
    """Seen last Friday: Monday and Tuesday are three and four days on, Wednesday is five."""
    last = FRI - timedelta(weeks=1)
    patterns = ((MON, THU), (MON, FRI), (TUE, FRI), (WED, SAT))
    assert off_rhythm(patterns, last, 2, 1) == {WED: 1}


def test_a_visit_that_is_late_anyway_wants_the_first_day() -> None:
    """After a hold of five weeks no day is in time, and each later one is farther off."""
    last = WED - timedelta(weeks=5)
    assert off_rhythm(each_alone(TUE, WED, FRI), last, 1, 1) == {WED: 1, FRI: 3}


def test_the_only_day_there_is_costs_nothing() -> None:
    """What cannot be chosen is not priced."""
    assert off_rhythm(each_alone(MON), FRI - timedelta(weeks=1), 1, 1) == {}
