"""Time windows: when service may begin on a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from dispatch.clock import DAY_S, LAST_S, format_span, format_time
from dispatch.errors import InvalidValue
from dispatch.words import _


@dataclass(frozen=True, slots=True)
class TimeWindow:
    """When service may begin, in seconds after local midnight, both ends included.

    In a night shift it may lie after midnight, beyond 24:00. The window of the whole day, 00:00 to
    24:00, means any time and so goes on to the end of every shift that began on the day.

    Raises
    ------
    InvalidValue
        When it is empty, or leaves the day and the night after it.
    """

    start_s: int
    end_s: int

    def __post_init__(self) -> None:
        if not 0 <= self.start_s <= self.end_s <= LAST_S:
            raise InvalidValue(
                _(
                    "The time window {start} to {end} is empty or leaves the day: give a start "
                    "before the end, within 00:00 to 24:00 (+1)."
                ).format(start=format_time(self.start_s), end=format_time(self.end_s))
            )
        if self.start_s == 0 and self.end_s >= DAY_S:
            object.__setattr__(self, "end_s", LAST_S)

    @property
    def pair(self) -> tuple[int, int]:
        """Start and end as they are kept and told; any time is 0 to 86,400."""
        return (0, DAY_S) if self == ANY_TIME else (self.start_s, self.end_s)

    def __str__(self) -> str:
        return format_span(*self.pair)


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
