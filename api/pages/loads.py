"""The owner's loads: hours of service, upkeep and driving per technician and day."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from api.day_loads import total_of, week_loads
from api.deps import ReadSession, WeekPath
from api.pages.bars import Scale
from api.pages.templating import render

router = APIRouter()


@router.get("/loads/{week}")
def show_loads(request: Request, session: ReadSession, week: WeekPath) -> HTMLResponse:
    """Loads of a planned week as bars and as a table."""
    loads = week_loads(session, week)
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
