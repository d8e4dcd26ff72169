"""What goes on a truck for the visits of a day, regular ones and jobs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from dispatch.actions.day_sheet import DaySheet, SheetStop
from dispatch.actions.loads import load_of
from dispatch.actions.take_in import take_in_records
from dispatch.one_offs import OneOff
from dispatch.service_plan import VisitKind
from dispatch.store.book import read_site, read_technicians
from tests.records.samples import content
from tests.store.values import PLAN
from tests.town import MONDAY, Company

GREEN = OneOff(
    *("J1", "S1", "Bring the green pool back", VisitKind.GREEN_POOL),
    *(MONDAY, date(2026, 12, 4), (120, 45, 45)),
)
LITRE_KG = 1.165  # of liquid chlorine
SPARE = 1.2


def chlorine(number: int, day: str, litres: float, visit_id: str | None) -> dict[str, object]:
    """A record of a visit to S1 that took so much liquid chlorine."""
    return content(
        number, day=day, visit_id=visit_id,
        arrived_at=f"{day}T16:00:00Z", left_at=f"{day}T16:30:00Z",
        products=[{"product": "liquid-chlorine", "amount": litres, "unit": "l"}],
    )  # fmt: skip


@pytest.mark.parametrize(("work", "litres"), [(GREEN, 20), (None, 2)])
def test_a_green_pool_takes_what_it_took_yesterday_and_the_next_visit_does_not(
    company: Company, work: OneOff | None, litres: float
) -> None:
    """20 litres on the first day of the burst; 2 on each usual visit before."""
    sent = [
        chlorine(1, "2026-11-16", 2, None),
        chlorine(2, "2026-11-23", 2, None),
        chlorine(3, "2026-11-24", 20, "one-off:J1/2026-W48/1"),
    ]
    with company.writing() as session:
        take_in_records(session, company.settings, sent)
        route = PLAN.routes[0]
        stop = replace(route.stops[0], site_id="S1", upkeep_ids=())
        row = SheetStop(1, stop, read_site(session, "S1"), (), work)
        sheet = DaySheet(read_technicians(session)[0], MONDAY, route, (row,), (), 0.0)
        (line,) = load_of(session, company.settings, sheet).products
    assert line.net_kg == pytest.approx(litres * LITRE_KG * SPARE, abs=0.01)
