"""When to hire: the year's load against what the technicians' weeks can hold, month by month."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from dispatch.clock import IsoWeek
from dispatch.errors import InvalidValue
from dispatch.words import _

THURSDAY = 3  # the day that says which month a week belongs to: it holds the greater part


@dataclass(frozen=True, slots=True)
class WeekLoad:
    """All technicians' week in minutes: visits, driving and upkeep, and what they can hold."""

    week: IsoWeek
    work_min: float
    most_min: float


@dataclass(frozen=True, slots=True)
class MonthLoad:
    """A month: hours a week of work and of what can be held, on average and in its fullest week.

    `technicians_short` is how many more the week that lacks most hours would take, each with what
    the average technician holds in a week in which nobody is off.
    """

    month: str
    weeks: int
    work_h: float
    most_h: float
    fullest: float
    technicians_short: float


def months_of(
    loads: Iterable[WeekLoad], technicians: int, growth_percent: float = 0.0
) -> list[MonthLoad]:
    """The months of a year's load.

    Parameters
    ----------
    loads
        Weeks in their order.
    technicians
        How many share them.
    growth_percent
        By how much visits, driving and upkeep grow from month to month, compounded from the
        second month on.

    Raises
    ------
    InvalidValue
        On a growth that is not believable.
    """
    if not -50 <= growth_percent <= 50:
        raise InvalidValue(
            _("A growth of {growth_percent:g} % a month is not believable: give -50 to 50.").format(
                growth_percent=growth_percent
            )
        )
    weeks = list(loads)
    usual_min = max([1.0, *(one.most_min for one in weeks)]) / max(1, technicians)
    by_month: dict[str, list[WeekLoad]] = {}
    for one in weeks:
        by_month.setdefault(f"{one.week.days[THURSDAY]:%Y-%m}", []).append(one)
    return [
        _month(month, own, (1 + growth_percent / 100) ** n, usual_min)
        for n, (month, own) in enumerate(by_month.items())
    ]


def _month(month: str, weeks: list[WeekLoad], factor: float, usual_min: float) -> MonthLoad:
    over_min = [factor * one.work_min - one.most_min for one in weeks]
    # a week in which hardly anybody works is measured by one technician's usual week
    shares = [
        1 + over / max(one.most_min, usual_min) for over, one in zip(over_min, weeks, strict=True)
    ]
    return MonthLoad(
        month=month,
        weeks=len(weeks),
        work_h=factor * sum(one.work_min for one in weeks) / len(weeks) / 60,
        most_h=sum(one.most_min for one in weeks) / len(weeks) / 60,
        fullest=max(shares),
        technicians_short=max(0.0, *over_min) / usual_min,
    )
