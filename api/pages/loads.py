"""The owner's loads: hours of service, upkeep and driving per technician and day."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from api.day_loads import total_of, week_loads
from api.deps import ReadSession, SettingsDep, WeekPath
from api.pages.bars import Scale
from api.pages.curves import Curves, Point, Series, curves_of
from api.pages.templating import hours, render
from dispatch.actions import owner_loads
from dispatch.actions.owner_loads import WeekFigures
from dispatch.actions.read_plan import planned_weeks
from dispatch.clock import IsoWeek
from dispatch.words import _

router = APIRouter()

SHOWN_ACCOUNTS = 25  # those that leave least; the CSV has all


@router.get("/loads/{week}")
def show_loads(
    request: Request, session: ReadSession, settings: SettingsDep, week: WeekPath
) -> HTMLResponse:
    """Loads of a planned week as bars and as a table; of another one the way to plan it."""
    is_planned = week in planned_weeks(session)
    loads = week_loads(session, settings, week) if is_planned else []
    scale = Scale.over(loads)
    filled = [load.total.filled for load in loads]
    return render(
        request,
        "loads.html",
        week=week,
        loads=loads,
        bars={load.technician_id: [scale.bar(day) for day in load.days] for load in loads},
        scale=scale,
        total=total_of(loads) if loads else None,
        least=min(filled, default=0.0),
        most=max(filled, default=0.0),
    )


@router.get("/loads/weeks/{week}")
def show_weeks(
    request: Request, session: ReadSession, settings: SettingsDep, week: WeekPath
) -> HTMLResponse:
    """Loads over the weeks: hours, spread, cost, accounts, and overtime coming."""
    weeks = owner_loads.week_figures(session, settings, week)
    accounts = owner_loads.accounts(session, settings, week)
    ahead = max(planned_weeks(session), default=week)
    this_week = IsoWeek.of(settings.today())
    return render(
        request,
        "loads_weeks.html",
        week=week,
        weeks=weeks,
        chart=_chart(weeks) if len(weeks) > 1 else None,
        coming=[
            (one.week, technician)
            for one in owner_loads.week_figures(session, settings, ahead)
            if IsoWeek.parse(one.week) >= this_week
            for technician in one.technicians
            if technician.overtime_s
        ],
        priced=[one for one in accounts if one.price is not None][:SHOWN_ACCOUNTS],
        unpriced=sum(one.price is None for one in accounts),
        rates=owner_loads.rates_of(settings),
        currency=settings.currency,
    )


def _chart(weeks: list[WeekFigures]) -> Curves | None:
    """Hours of service, driving and spread, week by week."""
    parts: tuple[tuple[str, str, Callable[[WeekFigures], int]], ...] = (
        (_("Service and upkeep"), "first", lambda one: one.service_s + one.upkeep_s),
        (_("Driving"), "second", lambda one: one.drive_s),
        (_("Spread"), "third", lambda one: one.spread_s),
    )
    series = [
        Series(
            name,
            kind,
            tuple(
                Point(_ago(one, weeks), of(one) / 3600, f"{one.week}: {hours(of(one))} h")
                for one in weeks
            ),
        )
        for name, kind, of in parts
    ]
    words = _("Hours of service, driving and spread from {week} to {last_week}.").format(
        week=weeks[0].week, last_week=weeks[-1].week
    )
    return curves_of(_("weeks from {week}").format(week=weeks[-1].week), _("hours"), series, words)


def _ago(one: WeekFigures, weeks: list[WeekFigures]) -> int:
    """Weeks from the last of the chart; 0 for that, below 0 for those before it."""
    last = IsoWeek.parse(weeks[-1].week).monday
    return (IsoWeek.parse(one.week).monday - last).days // 7
