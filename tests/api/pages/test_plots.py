"""Geometry of the plots of a site's history."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pages.plots import (
    BOTTOM,
    HEIGHT,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    Level,
    Value,
    plot_of,
    time_line,
)

FIRST = date(2026, 1, 1)


def values(*figures: float) -> list[Value]:
    return [Value(FIRST + timedelta(days=10 * n), figure) for n, figure in enumerate(figures)]


def test_ends_of_the_axes_are_the_edges_of_the_field() -> None:
    """0 to 20 in steps of 5: the lowest value lies at the bottom, the highest at the top."""
    plot = plot_of("Pressure", "psi", values(0, 20, 10))
    assert plot is not None
    assert [tick.label for tick in plot.up] == ["0", "5", "10", "15", "20"]
    assert [(dot.x, dot.y) for dot in plot.dots] == [
        (LEFT, HEIGHT - BOTTOM),
        ((LEFT + WIDTH - RIGHT) / 2, TOP),
        (WIDTH - RIGHT, (TOP + HEIGHT - BOTTOM) / 2),
    ]


def test_levels_and_the_ideal_are_inside_the_field() -> None:
    """A threshold above all readings must be seen; it is what the readings climb to."""
    plot = plot_of(
        "Pressure", "psi", values(18, 22), levels=[Level("clean it at 28", 28, "threshold")],
        ideal=(16, 20),
    )  # fmt: skip
    assert plot is not None
    assert TOP <= plot.lines[0].y < plot.dots[1].y
    assert plot.band is not None
    assert plot.band[0] < plot.band[1] <= HEIGHT - BOTTOM


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40),
    st.lists(st.floats(-1e6, 1e6), max_size=2),
)
def test_everything_lies_in_the_field(figures: list[float], levels: list[float]) -> None:
    """Whatever was read: nothing is drawn outside, and the axis has few ticks."""
    plot = plot_of("x", "", values(*figures), levels=[Level("l", one, "clean") for one in levels])
    assert plot is not None
    for dot in plot.dots:
        assert LEFT <= dot.x <= WIDTH - RIGHT + 0.1
        assert TOP - 0.1 <= dot.y <= HEIGHT - BOTTOM + 0.1
    assert 2 <= len(plot.up) <= 8


def test_the_summary_says_what_the_line_shows() -> None:
    """Whoever cannot see the drawing hears it."""
    plot = plot_of("pH", "", values(7.4, 7.8, 7.5))
    assert plot is not None
    assert plot.summary == (
        "pH: 3 readings from 2026-01-01 to 2026-01-21, between 7.4 and 7.8, last 7.5."
    )


def test_an_odd_value_says_so() -> None:
    """Its square and its words tell it from the others."""
    plot = plot_of("Pressure", "kPa", [Value(FIRST, 18, odd=True)])
    assert plot is not None
    assert plot.dots[0].odd
    assert plot.dots[0].words == "2026-01-01: 18.0 kPa, odd"


def test_nothing_read_is_nothing_drawn() -> None:
    """An empty frame would look like a fault."""
    assert plot_of("Salt", "ppm", []) is None
    assert time_line([], [], FIRST) is None


def test_months_are_thinned_out() -> None:
    """Two years of labels at every month would lie over each other."""
    plot = plot_of("Salt", "ppm", [Value(FIRST, 1), Value(FIRST + timedelta(days=730), 2)])
    assert plot is not None
    assert [tick.label for tick in plot.across] == [
        "Jan 2026", "Jun", "Nov", "Apr", "Sep",
    ]  # fmt: skip


def test_the_time_line_has_done_and_due_in_rows() -> None:
    """One row for each upkeep; what is due in more than half a year is left out."""
    today = date(2026, 6, 1)
    line = time_line(
        [("Backwash", date(2026, 1, 1)), ("Backwash", date(2026, 5, 1))],
        [("Sand change", date(2026, 8, 1)), ("Anode swap", date(2027, 8, 1))],
        today,
    )
    assert line is not None
    assert line.rows == ("Backwash", "Sand change")
    assert [(mark.row, mark.due) for mark in line.marks] == [(0, False), (0, False), (1, True)]
    assert line.marks[0].x == LEFT
    assert line.marks[1].x < line.today_x < line.marks[2].x


@pytest.mark.parametrize("figure", [0.0, 7.5, -3.0])
def test_a_single_value_has_an_axis(figure: float) -> None:
    """No spread must not become a division by nothing."""
    plot = plot_of("x", "", [Value(FIRST, figure)])
    assert plot is not None
    assert len(plot.up) >= 2
