"""Times of a given order, against figures worked by hand."""

from dispatch.clock import format_time, parse_time
from dispatch.planning.timetable import Call, times_of
from dispatch.sites import ANY_TIME, TimeWindow
from dispatch.technicians import Break
from tests.planning.weeks import MINUTE, NOON, cell, on_a_line

ROAD = on_a_line(0, 10, 25)  # depot, first pool after 10 min, second 15 min further


def call(place: int, minutes: int = 30, window: TimeWindow = ANY_TIME) -> Call:
    return Call(place, minutes * MINUTE, (window,))


def clock(*seconds: int) -> list[str]:
    return [format_time(one) for one in seconds]


def test_a_day_is_drive_service_and_the_way_back() -> None:
    """07:00 + 10 = 07:10, + 30 = 07:40, + 15 = 07:55, + 30 = 08:25, + 25 back = 08:50."""
    times = times_of(cell(), [call(1), call(2)], ROAD)
    assert clock(*times.arrive_s) == ["07:10", "07:55"]
    assert clock(*times.leave_s) == ["07:40", "08:25"]
    assert clock(times.end_s) == ["08:50"]
    assert times.broken_s == 0


def test_the_truck_leaves_just_in_time_for_a_first_window() -> None:
    """Nobody sits in front of a gate: window 09:00, ten minutes away, so leave at 08:50."""
    window = TimeWindow(parse_time("09:00"), parse_time("11:00"))
    times = times_of(cell(), [call(1, window=window)], ROAD)
    assert clock(times.start_s, *times.arrive_s) == ["08:50", "09:00"]


def test_the_whole_day_begins_later_when_that_saves_waiting() -> None:
    """The second pool opens 09:00: 09:00 - 15 - 30 - 10 = 08:05 waits for nothing."""
    window = TimeWindow(parse_time("09:00"), parse_time("11:00"))
    times = times_of(cell(), [call(1), call(2, window=window)], ROAD)
    assert clock(times.start_s, *times.arrive_s) == ["08:05", "08:15", "09:00"]
    assert times.wait_s == 0


def test_a_later_window_is_waited_for_and_a_missed_one_is_counted() -> None:
    """The second pool opens 09:00 to 09:10: coming at 07:55 waits, coming after 09:10 is late."""
    window = TimeWindow(parse_time("09:00"), parse_time("09:10"))
    early = TimeWindow(parse_time("07:00"), parse_time("07:10"))
    waiting = times_of(cell(), [call(1, window=early), call(2, window=window)], ROAD)
    assert waiting.wait_s == 65 * MINUTE
    assert clock(waiting.arrive_s[1], waiting.begin_s[1]) == ["07:55", "09:00"]
    late = times_of(cell(), [call(1, minutes=120), call(2, window=window)], ROAD)
    assert late.late_s == (0, 15 * MINUTE)  # 07:10 + 120 + 15 = 09:25


def test_a_day_too_long_is_overfull_by_minutes() -> None:
    """Shift to 08:30, back at 08:50: 20 minutes over."""
    times = times_of(cell(hours="07:00-08:30"), [call(1), call(2)], ROAD)
    assert times.overfull_s == 20 * MINUTE


def test_the_meal_stands_between_two_stops() -> None:
    """Two jobs of four hours: free at 11:10, meal to 11:40, arrive 11:55, service to 15:55."""
    times = times_of(cell(hours="07:00-18:00", meal=NOON), [call(1, 240), call(2, 240)], ROAD)
    assert times.break_after == 1
    assert clock(times.break_start_s or 0) == ["11:10"]
    assert clock(times.arrive_s[1], times.end_s) == ["11:55", "16:20"]


def test_no_meal_is_owed_on_a_day_that_ends_before_it() -> None:
    """Back at 08:50, long before 13:00: nobody waits for lunch."""
    times = times_of(cell(meal=NOON), [call(1), call(2)], ROAD)
    assert times.break_after is None
    assert clock(times.end_s) == ["08:50"]


def test_a_meal_that_cannot_be_had_in_time_is_counted() -> None:
    """One job from 07:10 to 15:10 and a meal to begin by 09:00: before it at 08:00, or late."""
    early = Break(30, parse_time("08:00"), parse_time("09:00"))
    times = times_of(cell(hours="07:00-17:00", meal=early), [call(1, 480)], ROAD)
    assert times.break_after == 0  # 08:00 to 08:30 at the depot, then 08:40 to 16:40
    assert clock(times.end_s) == ["16:50"]
    short = times_of(cell(hours="07:00-16:30", meal=early), [call(1, 480)], ROAD)
    assert short.broken_s == 20 * MINUTE


def test_an_empty_day_has_no_drive_and_no_meal() -> None:
    """A truck that visits nobody stays where it is."""
    times = times_of(cell(meal=NOON), [], ROAD)
    assert times.start_s == times.end_s
    assert times.broken_s == 0
