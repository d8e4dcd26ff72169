"""Time windows: when service may begin on a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from dispatch.clock import DAY_S, format_time
from dispatch.errors import InvalidValue
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class TimeWindow:
    """When service may begin, in seconds after local midnight, both ends included."""

    start_s: int
    end_s: int

    def __post_init__(self) -> None:
        if not 0 <= self.start_s <= self.end_s <= DAY_S:
            raise InvalidValue(
                _(
                    "The time window {start} to {end} is empty or leaves the day: give a start "
                    "before the end, within 00:00 to 24:00."
                ).format(start=format_time(self.start_s), end=format_time(self.end_s))
            )

    def __str__(self) -> str:
        return f"{format_time(self.start_s)}-{format_time(self.end_s)}"


ANY_TIME = TimeWindow(0, DAY_S)
ALL_DAY: tuple[TimeWindow, ...] = (ANY_TIME,)


def check_windows(windows: Sequence[TimeWindow]) -> None:
    """Refuse windows of a day that are none, out of order or not apart.

    Raises
    ------
    InvalidValue
        Without any window, or with one that begins before the one ahead of it has ended.
    """
    if not windows:
        raise InvalidValue(
            _(
                "There is no time window in which service could begin: give one, as "
                "07:00-12:00, or leave it open for any time."
            )
        )
    for earlier, later in pairwise(windows):
        if later.start_s <= earlier.end_s:
            raise InvalidValue(
                _(
                    "The time windows {earlier} and {later} overlap or are out of order: give "
                    "them in the order of the day and apart, or make one of them."
                ).format(earlier=earlier, later=later)
            )
