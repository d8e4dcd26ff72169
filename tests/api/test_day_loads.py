from __future__ import annotations

import pytest

from api.day_loads import DayLoad, total_of, week_loads
from dispatch.actions.read_plan import week_plan, workloads
from dispatch.errors import NotFound
from tests.town import MONDAY, WEEK, Company


def load(**seconds: int) -> DayLoad:
    given = {"stops": 1, "service_s": 0, "upkeep_s": 0, "drive_s": 0, "break_s": 0, "shift_s": 0}
    return DayLoad(technician_id="T1", name="Invented Alma", day=MONDAY, **{**given, **seconds})


def test_slack_is_what_work_and_break_leave_of_the_shift() -> None:
    """8 h less 5 h service, 1 h upkeep, 40 min driving and 30 min break are 50 min."""
    day = load(service_s=18_000, upkeep_s=3600, drive_s=2400, break_s=1800, shift_s=28_800)

    assert day.work_s == 24_000
    assert day.slack_s == 3000
    assert day.filled == pytest.approx(25_800 / 28_800)


def test_an_overfull_day_has_slack_below_zero() -> None:
    """The owner must see how much too much it is."""
    assert load(service_s=30_000, shift_s=28_800).slack_s == -1200


def test_upkeep_is_counted_once_and_apart_from_service(planned: Company) -> None:
    """The plan's service holds the upkeep; the owner's chart shows them side by side."""
    with planned.reading() as session:
        loads = week_loads(session, planned.settings, WEEK)
        total = total_of(loads)
        whole = workloads(session, planned.settings, WEEK)
        plan = week_plan(session, WEEK)

    assert total.service_s + total.upkeep_s == plan.service_s
    # 30 min at S1, 45 at S2 and twice 20 at S3, as the table of sites says; the rest is upkeep.
    placed = {stop.site_id for route in plan.routes for stop in route.stops}
    assert placed == {"S1", "S2", "S3"}
    assert total.service_s == (30 + 45 + 20 + 20) * 60
    assert total.drive_s == sum(one.drive_s for one in whole)


def test_a_week_without_a_plan_has_no_loads(planned: Company) -> None:
    """An empty chart would look like an idle company."""
    with planned.reading() as session, pytest.raises(NotFound):
        week_loads(session, planned.settings, WEEK.next)
