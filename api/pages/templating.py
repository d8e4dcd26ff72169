"""Templates: where they lie, and how numbers and dates are written on pages."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from api.pages.units import Units
from dispatch.clock import WEEKDAY_NAMES, IsoWeek, format_time

FOLDER = Path(__file__).parent.parent / "templates"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def duration(seconds: float) -> str:
    """Hours and minutes, as '6 h 05'; below an hour minutes alone, as '25 min'."""
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d}" if minutes >= 60 else f"{minutes} min"


def hours(seconds: float) -> str:
    """Hours with one decimal, as '41.3'."""
    return f"{seconds / 3600:.1f}"


def long_day(day: date) -> str:
    """A day in words, as 'Monday 30 November'."""
    return f"{WEEKDAY_NAMES[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"


def short_day(day: date) -> str:
    """A day in short, as 'Mon 30 Nov'."""
    return f"{WEEKDAY_NAMES[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1][:3]}"


def full_date(day: date) -> str:
    """A day with its year, as '30 Nov 2026'."""
    return f"{day.day} {MONTHS[day.month - 1][:3]} {day.year}"


def span_of(week: IsoWeek) -> str:
    """First to last day of a week, as '30 November to 6 December 2026'."""
    first, last = week.monday, week.sunday
    month = f" {MONTHS[first.month - 1]}" if first.month != last.month else ""
    year = f" {first.year}" if first.year != last.year else ""
    return f"{first.day}{month}{year} to {last.day} {MONTHS[last.month - 1]} {last.year}"


def percent(share: float) -> str:
    """A share as '5 %'."""
    return f"{round(100 * share)} %"


def plural(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun, as '1 visit' and '2 visits'."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def render(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    """Answer with a page; all text in it is escaped."""
    settings = request.app.state.settings
    page = ENVIRONMENT.get_template(template)
    html = page.render(
        request=request,
        caller=getattr(request.state, "caller", None),
        today_is=settings.today(),
        units=Units.of_country(settings.country),
        next_week=IsoWeek.of(settings.today()).next,
        credit=settings.map_credit,
        **context,
    )
    return HTMLResponse(html, status_code=status)


def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(
        clock=format_time,
        duration=duration,
        hours=hours,
        long_day=long_day,
        short_day=short_day,
        full_date=full_date,
        span=span_of,
        percent=percent,
        plural=plural,
    )
    return environment


ENVIRONMENT = _environment()
