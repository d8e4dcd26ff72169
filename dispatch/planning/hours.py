"""Paid hours of a technician's week while routes are under construction.

Overtime of a day is priced in its route; what a week exceeds its regular hours by is overtime as
far as it is not overtime of a day already, so that no hour is paid twice.
"""

from __future__ import annotations

import numpy as np

from dispatch.planning.arrays import REGULAR_END_S, TECHNICIAN, THOUSAND, Arrays
from dispatch.planning.routes import (
    DAY_END_S,
    PER_SECOND,
    UNEVENNESS,
    WORK_S,
    Routes,
    inlined,
    merged,
)
from dispatch.planning.variants import NEVER

REGULAR, MOST, PAY, LOW, HIGH, UNEVEN, SPENT = range(7)  # columns of `Arrays.hours`


@merged
def week_cost_s(a: Arrays, s: Routes, t: int, more_s: int, more_over_s: int, share: float) -> int:
    """Price of the week of technician t with `more_s` of work, `more_over_s` of it overtime.

    Unevenness costs a `share` of its price. Where going beyond the most has no price, it is
    forbidden. What has been worked beyond it already is past mending.
    """
    rule = a.hours[t]
    work_s = s.week_s[t, 0] + rule[SPENT] + more_s
    too_much_s = max(work_s - max(rule[MOST], rule[SPENT]), 0)
    weight = s.weight[PER_SECOND]
    if too_much_s > 0 and weight == 0.0 and more_s > 0:
        return NEVER
    overtime_s = max(work_s - rule[REGULAR] - s.week_s[t, 1] - more_over_s, 0)
    outside_s = max(rule[LOW] - work_s, work_s - rule[HIGH], 0)
    price = (rule[PAY] * overtime_s + int(share * rule[UNEVEN]) * outside_s) // THOUSAND
    return int(price) + int(weight * too_much_s)


@inlined
def _week_now_s(a: Arrays, s: Routes, t: int) -> int:
    """Price of the week of technician t as it stands."""
    return _week_at_s(a, s, t, s.weight[UNEVENNESS])


@inlined
def _week_at_s(a: Arrays, s: Routes, t: int, share: float) -> int:
    """Price of the week of technician t as it stands, with a share of that of unevenness."""
    nothing_s = int(np.int64(0))  # a plain 0 would have `week_cost_s` compiled twice
    return week_cost_s(a, s, t, nothing_s, nothing_s, share)


@merged
def week_price_s(a: Arrays, s: Routes, t: int, more_s: int, more_over_s: int) -> int:
    """What `more_s` of work adds to the price of the week of technician t; below 0: saves."""
    then_s = week_cost_s(a, s, t, more_s, more_over_s, s.weight[UNEVENNESS])
    return then_s - _week_now_s(a, s, t)


@merged
def week_gain_s(a: Arrays, s: Routes, t: int) -> int:
    """Most that work can save by bringing the week of technician t nearer to its band."""
    if not a.has_hours:
        return 0
    rule = a.hours[t]
    short_s = max(rule[LOW] - s.week_s[t, 0] - rule[SPENT], 0)
    return int(int(s.weight[UNEVENNESS] * rule[UNEVEN]) * short_s // THOUSAND)


@merged
def weeks_gain_s(a: Arrays, s: Routes) -> int:
    """Most that work can save by bringing all weeks nearer to their bands."""
    total = 0
    if a.has_hours:
        for t in range(len(a.hours)):
            total += week_gain_s(a, s, t)
    return total


@merged
def weeks_price_s(a: Arrays, s: Routes) -> int:
    """Price of all technicians' weeks."""
    total = 0
    if a.has_hours:
        for t in range(len(a.hours)):
            total += _week_now_s(a, s, t)
    return total


@merged
def spared_s(a: Arrays, s: Routes) -> int:
    """What all technicians' weeks will cost more once unevenness has its whole price."""
    total, share = 0, s.weight[UNEVENNESS]
    if a.has_hours and share < 1.0:
        for t in range(len(a.hours)):
            total += _week_at_s(a, s, t, 1.0) - _week_at_s(a, s, t, share)
    return total


@merged
def is_over_hours(a: Arrays, s: Routes) -> bool:
    """Whether any technician works more than a week may hold."""
    if a.has_hours:
        for t in range(len(a.hours)):
            if s.week_s[t, 0] + a.hours[t, SPENT] > a.hours[t, MOST] and s.week_s[t, 0] > 0:
                return True
    return False


@merged
def is_over_week(a: Arrays, s: Routes, r: int) -> bool:
    """Whether the technician of route r works more than the week may hold."""
    t = a.cell[r, TECHNICIAN]
    return bool(s.week_s[t, 0] + a.hours[t, SPENT] > a.hours[t, MOST] and s.day[r, WORK_S] > 0)


@inlined
def set_hours(a: Arrays, s: Routes, r: int, work_s: int, end_s: int) -> None:
    """Give route r new hours, and its technician's week with it; before its end is written."""
    t, regular_s = a.cell[r, TECHNICIAN], a.cell[r, REGULAR_END_S]
    s.week_s[t, 0] += work_s - s.day[r, WORK_S]
    s.week_s[t, 1] += max(end_s - regular_s, 0) - max(s.day[r, DAY_END_S] - regular_s, 0)
    s.day[r, WORK_S] = work_s
