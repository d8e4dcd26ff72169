"""Time windows."""

import pytest

from dispatch.errors import InvalidValue
from dispatch.windows import ANY_TIME, TimeWindow, check_windows

HOUR_S = 3600


@pytest.mark.parametrize(("start_s", "end_s"), [(3600, 0), (-1, 0), (0, 172_801)])
def test_a_window_lies_within_the_day_and_the_night_after_it(start_s: int, end_s: int) -> None:
    """A shift of the day ends before the next day is over."""
    with pytest.raises(InvalidValue, match="window"):
        TimeWindow(start_s, end_s)


def test_a_window_is_written_as_times_of_day() -> None:
    """Sentences and tables show it so."""
    assert str(TimeWindow(7 * HOUR_S, 9 * HOUR_S + 1800)) == "07:00-09:30"


def test_a_window_of_a_night_shift_is_written_as_it_is_read() -> None:
    """22:00 to 01:00 goes past midnight; after midnight both times say so."""
    assert str(TimeWindow(22 * HOUR_S, 25 * HOUR_S)) == "22:00-01:00"
    assert str(TimeWindow(24 * HOUR_S + 1800, 25 * HOUR_S)) == "00:30 (+1)-01:00 (+1)"


def test_the_whole_day_is_any_time_of_a_night_shift_too() -> None:
    """Most pools have no window, and somebody who works at night may serve them at one o'clock."""
    assert ANY_TIME.end_s == 48 * HOUR_S
    assert TimeWindow(0, 24 * HOUR_S) == ANY_TIME
    assert (str(ANY_TIME), ANY_TIME.pair) == ("00:00-24:00", (0, 24 * HOUR_S))


def test_windows_apart_and_in_order_are_kept() -> None:
    """One for any time, or a morning and an afternoon."""
    check_windows([ANY_TIME])
    check_windows([TimeWindow(7 * HOUR_S, 9 * HOUR_S), TimeWindow(13 * HOUR_S, 15 * HOUR_S)])


@pytest.mark.parametrize("second", [(9, 10), (8, 10), (6, 8), (5, 6)])
def test_windows_that_touch_overlap_or_are_out_of_order_are_refused(
    second: tuple[int, int],
) -> None:
    """Planning walks through them in the order of the day."""
    windows = [TimeWindow(7 * HOUR_S, 9 * HOUR_S), TimeWindow(*(hour * HOUR_S for hour in second))]
    with pytest.raises(InvalidValue, match="overlap or are out of order"):
        check_windows(windows)


def test_no_window_at_all_is_refused() -> None:
    """A visit that may begin at no time could never be planned."""
    with pytest.raises(InvalidValue, match="no time window"):
        check_windows([])
