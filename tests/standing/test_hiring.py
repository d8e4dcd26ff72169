from __future__ import annotations

import pytest

from dispatch.clock import IsoWeek
from dispatch.errors import InvalidValue
from dispatch.standing.hiring import WeekLoad, months_of

W50 = IsoWeek(2026, 50)
# Thursdays of W49 to W53 of 2026: 3, 10, 17, 24 and 31 December; W01 of 2027 has 7 January.
YEAR = [
    *(WeekLoad(IsoWeek(2026, week), 4800, 6000) for week in range(49, 53)),
    WeekLoad(IsoWeek(2026, 53), 9000, 6000),
    WeekLoad(IsoWeek(2027, 1), 6000, 6000),
]


def test_a_month_tells_its_mean_and_its_fullest_week() -> None:
    """Four weeks of 80 h and one of 150, where two people can hold 100: 50 h short, one person."""
    december, january = months_of(YEAR, technicians=2)

    assert (december.month, december.weeks) == ("2026-12", 5)
    assert (december.work_h, december.most_h) == (94.0, 100.0)
    assert december.fullest == pytest.approx(1.5)
    assert december.technicians_short == pytest.approx(1.0)
    assert (january.month, january.technicians_short) == ("2027-01", 0.0)


def test_growth_begins_with_the_second_month() -> None:
    """10 % more work in January than is agreed now: 110 h where 100 can be held."""
    _, january = months_of(YEAR, 2, growth_percent=10)

    assert january.work_h == pytest.approx(110.0)
    assert january.technicians_short == pytest.approx(0.2)


def test_a_week_in_which_everybody_is_off_takes_one_technician_and_not_thousands() -> None:
    """Alone, 35 h a week, and a week off with 28 h of visits: 0.8 of somebody is short, so 180 %.

    Measured by that week itself, in which nobody works, it would be 1,680 technicians.
    """
    weeks = [WeekLoad(IsoWeek(2026, n), 1680, 0 if n == 50 else 2100) for n in (49, 50, 51)]
    (december,) = months_of(weeks, technicians=1)
    assert december.technicians_short == pytest.approx(0.8)
    assert december.fullest == pytest.approx(1.8)
    assert december.most_h == pytest.approx(2 * 35 / 3)


def test_who_is_hired_is_not_off_when_somebody_else_is() -> None:
    """Two hold 35 h each and have 60 h of work; one is off: 25 h are short, 25 / 35 of a person."""
    (month,) = months_of([WeekLoad(IsoWeek(2026, 49), 3600, 4200), WeekLoad(W50, 3600, 2100)], 2)
    assert month.technicians_short == pytest.approx(25 / 35)


def test_a_growth_that_nobody_has_is_refused() -> None:
    """500 % a month would be a slip of the pen."""
    with pytest.raises(InvalidValue):
        months_of(YEAR, 2, growth_percent=500)
