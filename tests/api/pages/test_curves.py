from __future__ import annotations

import pytest

from api.pages.curves import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, Point, Series, curves_of


def test_the_ends_of_the_axes_are_the_ends_of_the_field() -> None:
    """0 to 100 across and 10 to 20 upwards are whole steps already, so the axes end there."""
    line = Series("Driving", "first", (Point(0, 20, "a"), Point(100, 10, "b")))
    chart = curves_of("minutes", "hours", [line], "falls")

    assert chart is not None
    ((drawn, path),) = chart.series
    assert (drawn.points[0].x, drawn.points[0].y) == (LEFT, TOP)
    assert (drawn.points[1].x, drawn.points[1].y) == (WIDTH - RIGHT, HEIGHT - BOTTOM)
    assert path == f"M{LEFT} {TOP} L{WIDTH - RIGHT} {HEIGHT - BOTTOM}".replace(
        f"{LEFT} {TOP}", f"{float(LEFT)} {float(TOP)}"
    ).replace(
        f"{WIDTH - RIGHT} {HEIGHT - BOTTOM}", f"{float(WIDTH - RIGHT)} {float(HEIGHT - BOTTOM)}"
    )
    assert [tick.label for tick in chart.across] == ["0", "50", "100"]


def test_one_point_has_an_axis_around_it() -> None:
    """A curve that was stopped after its first point is no division by zero."""
    chart = curves_of("x", "y", [Series("One", "first", (Point(5, 5, "p"),))], "one")

    assert chart is not None
    assert LEFT <= chart.series[0][0].points[0].x <= WIDTH - RIGHT


def test_an_axis_of_weeks_has_no_half_weeks() -> None:
    """There are two weeks, and nothing stands between them."""
    line = Series("Driving", "first", (Point(-1, 8, "a"), Point(0, 9, "b")))
    chart = curves_of("weeks", "hours", [line], "rises")

    assert chart is not None
    assert [tick.label for tick in chart.across] == ["-1", "0"]


@pytest.mark.parametrize("series", [[], [Series("None", "first", ())]])
def test_without_points_there_is_no_chart(series: list[Series]) -> None:
    """The page says in words that there is nothing."""
    assert curves_of("x", "y", series, "nothing") is None
