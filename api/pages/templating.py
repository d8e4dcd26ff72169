"""Templates: where they lie, how they are said in the reader's language, numbers and dates."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from api.languages import script_words
from api.pages.units import units_of
from dispatch.clock import (
    MONTHS,
    WEEKDAYS,
    IsoWeek,
    format_time,
    full_date,
    long_day,
    short_day,
    wall_time,
    weekday_short,
)
from dispatch.day.moments import clock_time, wall_clock
from dispatch.measures import measured
from dispatch.words import _, counted, gettext, ngettext, reader_language, worded, written

FOLDER = Path(__file__).parent.parent / "templates"


def duration(seconds: float) -> str:
    """Hours and minutes, as '6 h 05'; below an hour minutes alone, as '25 min'."""
    minutes = round(seconds / 60)
    if minutes < 60:
        return _("{minutes} min").format(minutes=minutes)
    return _("{hours} h {minutes:02d}").format(hours=minutes // 60, minutes=minutes % 60)


def hours(seconds: float) -> str:
    """Hours with one decimal, as '41.3'."""
    return written(f"{seconds / 3600:.1f}")


def span_of(week: IsoWeek) -> str:
    """First to last day of a week, as '30 November to 6 December 2026'."""
    first, last = week.monday, week.sunday
    if first.year != last.year:
        said = _("{first} {first_month} {first_year} to {last} {month} {year}")
    elif first.month != last.month:
        said = _("{first} {first_month} to {last} {month} {year}")
    else:
        said = _("{first} to {last} {month} {year}")
    return said.format(
        first=first.day,
        first_month=_(MONTHS[first.month - 1]),
        first_year=first.year,
        last=last.day,
        month=_(MONTHS[last.month - 1]),
        year=last.year,
    )


def percent(share: float) -> str:
    """A share as '5 %'."""
    return f"{round(100 * share)} %"


def render(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    """Answer with a page; all text in it is escaped."""
    settings = request.app.state.settings
    page = ENVIRONMENT.get_template(template)
    html = page.render(
        request=request,
        caller=getattr(request.state, "caller", None),
        today_is=settings.today(),
        units=units_of(request),
        branch=settings.branch,
        next_week=IsoWeek.of(settings.today()).next,
        credit=settings.map_credit,
        language=reader_language(),
        script_words=script_words(),
        **context,
    )
    return HTMLResponse(html, status_code=status)


def clock(seconds: int, day: date | None = None) -> str:
    """A time of day; that of a certain day as clocks show it then."""
    return format_time(seconds) if day is None else clock_time(day, seconds)


def wall(seconds: int, day: date | None = None) -> str:
    """A time of day as a clock on the wall shows it, without its date."""
    return wall_time(seconds) if day is None else wall_clock(day, seconds)


def figure(form: str, value: float) -> str:
    """A number as the reader's language writes it; `form` is as "%.1f" or "%.0f %%"."""
    return written(form % value)


def _shown(value: Any) -> Any:
    """What a page shows of a value: amounts that a sentence kept come in the reader's units."""
    return type(value)(measured(value)) if isinstance(value, str) else value


def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
        finalize=_shown,
    )
    # the library adds these two at run time, where its type hints do not see them
    environment.install_gettext_callables(gettext, ngettext, newstyle=True)  # type: ignore[attr-defined]
    environment.globals.update(counted=counted, weekdays=WEEKDAYS)
    environment.filters.update(
        clock=clock,
        wall=wall,
        duration=duration,
        hours=hours,
        long_day=long_day,
        short_day=short_day,
        full_date=full_date,
        span=span_of,
        percent=percent,
        figure=figure,
        input_in=lambda one, units: units.input(one),
        weekday=weekday_short,
        said=gettext,
        worded=worded,
    )
    return environment


ENVIRONMENT = _environment()
