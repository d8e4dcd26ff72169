"""What work costs a company, from the cost of an hour and of a kilometre."""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.errors import InvalidValue
from dispatch.pay import WEEK_H
from dispatch.words import _

OVERTIME_FACTOR = 1.5  # 29 U.S.C. 207(a)(1), an example: local law and contract come first
MONTH_WEEKS = 52 / 12  # weeks of an average month, as prices by the month are reckoned


@dataclass(frozen=True, slots=True)
class Rates:
    """Cost of an hour and of a kilometre, in the company's currency.

    Overtime costs `overtime_factor` times an hour.

    Raises
    ------
    InvalidValue
        On a cost below zero or a factor below 1.
    """

    hour: float
    km: float
    overtime_factor: float = OVERTIME_FACTOR

    def __post_init__(self) -> None:
        if self.hour < 0 or self.km < 0 or self.overtime_factor < 1:
            raise InvalidValue(
                _(
                    "Costs of {hour:g} an hour and {km:g} a kilometre, overtime times "
                    "{overtime_factor:g}, cannot be: give none below zero, overtime from 1 on."
                ).format(hour=self.hour, km=self.km, overtime_factor=self.overtime_factor)
            )

    def cost(self, work_s: float, drive_m: float, overtime_s: float = 0.0) -> float:
        """Cost of so many seconds of paid work, `overtime_s` of it overtime, and metres driven."""
        hours = (work_s + (self.overtime_factor - 1) * overtime_s) / 3600
        return self.hour * hours + self.km * drive_m / 1000


def overtime_s(work_s: float, regular_min: int | None = None) -> int:
    """Seconds of a workweek beyond its regular hours: 40, or those of the technician's rule.

    An example (29 U.S.C. 207(a)(1)): some states count by the day, so local law comes first.
    """
    regular_s = 3600 * WEEK_H if regular_min is None else 60 * regular_min
    return max(0, round(work_s - regular_s))
