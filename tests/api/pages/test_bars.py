from __future__ import annotations

import pytest

from api.day_loads import DayLoad, WeekLoad
from api.pages.bars import Scale
from tests.town import MONDAY


def day(service_s: int = 0, drive_s: int = 0, shift_s: int = 28_800) -> DayLoad:
    return DayLoad(
        "T1",
        "Invented Alma",
        MONDAY,
        stops=3,
        service_s=service_s,
        upkeep_s=0,
        drive_s=drive_s,
        break_s=0,
        shift_s=shift_s,
    )


def week(*days: DayLoad) -> list[WeekLoad]:
    return [WeekLoad("T1", "Invented Alma", days)]


def test_the_scale_holds_the_longest_day_and_the_longest_shift() -> None:
    """A bar or a shift that leaves the chart cannot be compared."""
    assert Scale.over(week(day(service_s=3600, shift_s=28_800))).hours == 8
    assert Scale.over(week(day(service_s=28_801))).hours == 9
    assert Scale.over([]).hours == 1


def test_pieces_follow_each_other_and_are_as_wide_as_their_time() -> None:
    """4 h and 2 h on a scale of 8 h are 50 % and 25 %, the shift is the whole width."""
    bar = Scale(8).bar(day(service_s=14_400, drive_s=7200))

    assert [(piece.kind, piece.left, piece.width) for piece in bar.pieces] == [
        ("service", 0.0, 50.0),
        ("drive", 50.0, 25.0),
    ]
    assert bar.capacity == 100.0


def test_a_narrow_piece_has_no_figure_in_it() -> None:
    """Half an hour of 8 is 6 % of the width: the figure would spill over."""
    bar = Scale(8).bar(day(service_s=14_400, drive_s=1800))

    assert [piece.label for piece in bar.pieces] == ["4.0", ""]


@pytest.mark.parametrize(("hours", "ticks"), [(8, [0, 2, 4, 6, 8]), (9, [0, 2, 4, 6, 8])])
def test_every_second_hour_has_a_tick(hours: int, ticks: list[int]) -> None:
    """More would be a fence on a phone."""
    assert [hour for hour, _ in Scale(hours).ticks] == ticks
