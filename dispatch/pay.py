"""Overtime of technicians who are paid by the pool: the regular rate of a week."""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.errors import InvalidValue
from dispatch.words import _

WEEK_H = 40.0  # hours a week beyond which the half is owed; 29 U.S.C. 207(a)(1), from memory


@dataclass(frozen=True, slots=True)
class OvertimePay:
    """Pay of one week: the regular rate an hour, the premium on top, and all of it.

    Amounts are in the money that was given, rounded to cents.
    """

    regular_rate: float
    premium: float
    total: float


def regular_rate_overtime(
    hours: float, piece_pay: float, other_pay: float = 0.0, *, week_h: float = WEEK_H
) -> OvertimePay:
    """Pay of a week by the piece with overtime, as 29 CFR 778.111(a) reckons it.

    The regular rate is everything earned for the week over all hours worked in it; each hour
    beyond `week_h` earns half of it again, because the single rate is in the piece pay already.
    As in the regulation's own example the rate is rounded to cents before the premium.

    The federal rule alone: some states ask for more (by the day, or another divisor), so an
    accountant has the last word.

    Parameters
    ----------
    hours
        All hours worked in the week, waiting and driving included.
    piece_pay, other_pay
        Earned by the piece, and by the hour for time without pieces (waiting).
    week_h
        Hours a week that earn no premium.

    Raises
    ------
    InvalidValue
        When the hours are not those of a week, or a pay is below zero.
    """
    if not 0 < hours <= 168:
        raise InvalidValue(
            _("A week of {hours:g} hours is not possible: give more than 0, to 168.").format(
                hours=hours
            )
        )
    if piece_pay < 0 or other_pay < 0:
        raise InvalidValue(
            _("A pay of {piece_pay:g} is below zero: give what was earned.").format(
                piece_pay=min(piece_pay, other_pay)
            )
        )
    earned = piece_pay + other_pay
    rate = round(earned / hours, 2)
    premium = round(max(0.0, hours - week_h) * rate / 2, 2)
    return OvertimePay(rate, premium, round(earned + premium, 2))
