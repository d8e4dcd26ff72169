"""What the week plan may take once upkeep has been spread, and what must be done anyway."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import update

from dispatch.actions import forecasts, upkeep_table
from dispatch.actions.day import publish_day
from dispatch.actions.holds import add_hold
from dispatch.actions.level_upkeep import (
    by_technician,
    level_upkeep,
    levelling,
    load_list,
    slot_list,
)
from dispatch.actions.plan_week import plan_week
from dispatch.actions.read_plan import week_plan
from dispatch.actions.site_view import site_view
from dispatch.actions.take_in import take_in_record
from dispatch.actions.upkeep_now import offered, upkeep_due
from dispatch.actions.week_desk import lock
from dispatch.actions.week_inputs import is_outdated
from dispatch.clock import IsoWeek
from dispatch.edits.locks import Lock, LockKind
from dispatch.errors import Cancelled, InvalidValue, NotFound, NothingToPlan
from dispatch.sites import Hold
from dispatch.store.levelling import KeptSlot
from dispatch.store.tables import LevelSlotRow, table_of
from dispatch.upkeep import UpkeepDue
from dispatch.upkeep_causes import Cause, DueBy
from dispatch.upkeep_kinds import Trigger
from tests.records.samples import content
from tests.town import MONDAY, TODAY, WEEK, Company, end_of, open_company

NOV_1, DEC_20, MARCH_1 = date(2026, 11, 1), date(2026, 12, 20), date(2027, 3, 1)
DUE = UpkeepDue("S2", "sand-change", "Sand change", NOV_1, DEC_20, MARCH_1, 150)
LATER, AFTER = IsoWeek(2027, 3), IsoWeek(2027, 4)


def slot(week: IsoWeek, kind: str = "sand-change") -> KeptSlot:
    day = week.days[1]
    return KeptSlot("S2", kind, 1, "Sand change", week, day, "T1", NOV_1, DEC_20, MARCH_1, 150, 163)


def test_without_levelling_everything_is_offered() -> None:
    """As before there was any."""
    assert offered([DUE], [], WEEK) == (DUE,)


def test_what_is_set_for_a_later_week_waits_for_it_and_stays_until_done() -> None:
    """Offered in its week and in every week after, with the week that was set."""
    assert offered([DUE], [slot(LATER)], WEEK) == ()
    for week in (LATER, AFTER):
        (found,) = offered([DUE], [slot(LATER)], week)
        assert found.set_for == LATER.monday
        assert found.id == DUE.id


def test_what_is_set_early_is_wanted_early() -> None:
    """Set for week 49 though due on 20 December: the plan is to take it now."""
    (found,) = offered([DUE], [slot(WEEK)], WEEK)
    assert found.wanted_on == WEEK.sunday
    assert DUE.wanted_on == DEC_20


def test_what_must_be_done_is_offered_whatever_was_set() -> None:
    """A condition, or a latest day in this week."""
    urgent = UpkeepDue(
        "S2", "sand-change", "Sand change", NOV_1, DEC_20, MARCH_1, 150,
        cause=Cause(DueBy.CONDITION, NOV_1, Trigger.TIRED_MEDIA, found="often"),
    )  # fmt: skip
    last = UpkeepDue("S2", "sand-change", "Sand change", NOV_1, NOV_1, WEEK.days[2], 150)
    assert offered([urgent], [slot(LATER)], WEEK) == (urgent,)
    assert offered([last], [slot(LATER)], WEEK) == (last,)


def test_a_week_set_before_the_upkeep_was_done_is_not_that_of_the_next() -> None:
    """Swapped early, it is due again in five years: the old week lies before its window."""
    again = UpkeepDue(
        "S2",
        "sand-change",
        "Sand change",
        date(2027, 2, 1),
        date(2027, 3, 1),
        date(2027, 9, 1),
        150,
    )
    assert offered([again], [slot(LATER)], IsoWeek(2027, 6)) == (again,)


def test_upkeep_is_spread_kept_and_taken_by_the_week(company: Company) -> None:
    """Sand of June 2021 at S2: due since June, by June 2027; T1 changes media."""
    with company.reading() as session:
        assert levelling(session) is None
        before = upkeep_due(session, WEEK)
    made = level_upkeep(company.engine, company.settings, today=TODAY, weeks=26)
    with company.reading() as session:
        kept = levelling(session)
        now = upkeep_due(session, WEEK)
    assert kept is not None
    assert [one.kind for one in kept.slots] == ["sand-change"]
    assert kept.slots[0].week == made.slots[0].week
    assert [one.kind for one in before] == ["sand-change"]
    expected = [kept.slots[0].week.monday] if kept.slots[0].week <= WEEK else []
    assert [one.set_for for one in now] == expected
    assert len(kept.loads) == 2 * 26
    assert set(by_technician(kept.loads)) == {"T1", "T2"}
    assert sum(one.upkeep_min for one in kept.loads) == 150
    assert slot_list(kept.slots).rows[0][2:4] == ("S2", "Sand change")
    assert len(load_list(kept.loads).rows) == 52


def set_for_later(company: Company) -> None:
    """Spread upkeep, and set the sand of S2 for a later week than the one that is planned."""
    level_upkeep(company.engine, company.settings, today=TODAY, weeks=26)
    slots = table_of(LevelSlotRow)
    with company.writing() as session:
        session.execute(update(slots).values(week=str(LATER), day=LATER.days[1]))


def test_upkeep_set_for_a_week_that_a_hold_takes_is_offered_before(company: Company) -> None:
    """Spread in November for January; in December the customer says that the house is empty.

    By the time the hold is over the sand is too old: it waits for that week no longer.
    """
    set_for_later(company)

    def sand() -> list[str]:
        with company.reading() as session:
            return [one.site_id for one in upkeep_due(session, WEEK) if one.kind == DUE.kind]

    assert sand() == []
    with company.writing() as session:
        add_hold(session, Hold("S2", LATER.monday, date(2027, 7, 1), "empty"))
    assert sand() == ["S2"]


@pytest.mark.parametrize(
    "held", [None, Lock(LockKind.DAY, day=MONDAY), Lock(LockKind.ROUTE, None, "T1", MONDAY)]
)
def test_a_kept_route_keeps_its_upkeep_and_times_when_upkeep_is_spread(
    planned: Company, held: Lock | None
) -> None:
    """Alma's Monday is published or locked with the sand of S2, which is then set for January."""
    with planned.writing() as session:
        if held is None:
            publish_day(session, planned.settings, MONDAY, who="Ada", at=planned.settings.now())
        else:
            lock(session, WEEK, held)
        before = week_plan(session, WEEK)
    set_for_later(planned)
    plan_week(planned.engine, planned.settings, WEEK, today=TODAY, iterations=200)
    with planned.reading() as session:
        assert week_plan(session, WEEK).routes == before.routes
        assert [one.kind for one in upkeep_due(session, WEEK)] == ["sand-change"]


def test_a_route_that_planning_may_change_gives_its_upkeep_to_the_week_set(
    planned: Company,
) -> None:
    """Nothing holds Alma's Monday: its sand waits for January."""
    with planned.writing() as session:
        lock(session, WEEK, Lock(LockKind.STOP, visit_id="S3/2026-W49/1"))
    set_for_later(planned)
    plan = plan_week(planned.engine, planned.settings, WEEK, today=TODAY, iterations=200)
    assert not any(stop.upkeep_ids for route in plan.routes for stop in route.stops)


def test_upkeep_done_as_planned_does_not_outdate_its_week(planned: Company) -> None:
    """The sand of S2 rides on Monday; once it is recorded there is nothing to plan again for."""
    monday = planned.settings.model_copy(update={"fixed_today": end_of(MONDAY)})
    with planned.reading() as session:
        routes = week_plan(session, WEEK).routes
    ((route, stop),) = [(one, stop) for one in routes for stop in one.stops if stop.upkeep_ids]
    assert route.day == MONDAY
    record = content(
        site_id=stop.site_id,
        technician_id=route.technician_id,
        visit_id=stop.visit_id,
        day=str(MONDAY),
        arrived_at="2026-11-30T16:00:00Z",
        left_at="2026-11-30T18:30:00Z",
        upkeep=[{"kind": "sand-change"}],
    )
    with planned.writing() as session:
        take_in_record(session, monday, record)
    with planned.reading() as session:
        assert upkeep_due(session, WEEK) == ()
        assert not is_outdated(session, monday, WEEK)
    again = plan_week(planned.engine, monday, WEEK, today=MONDAY, iterations=200)
    assert not any(one.upkeep_ids for each in again.routes for one in each.stops)
    with planned.reading() as session:
        assert not is_outdated(session, monday, WEEK)


@pytest.mark.parametrize("clock", ["2026-11-24T01:30", "2026-11-27T09:00"])
def test_what_was_read_before_a_backwash_is_of_its_day_whatever_the_clock_says(
    company: Company, clock: str
) -> None:
    """29 psi, backwashed to 18 at half past one of Monday's night, or by a phone days ahead.

    Taken for a later day, the 29 psi would ask for another backwash, and for new sand.
    """
    psi = [{"kind": "filter-pressure", "value": value, "unit": "psi"} for value in (29, 18)]
    visits = [
        content(1, site_id="S2", readings=psi[1:], upkeep=[{"kind": "backwash"}]),
        content(2, site_id="S2", readings=psi, upkeep=[{"kind": "backwash"}]),
    ]
    visits[0] |= {"day": "2026-11-09", "arrived_at": "2026-11-09T09:00", "left_at": None}
    visits[1] |= {"arrived_at": clock, "left_at": clock}
    later = company.settings.model_copy(update={"fixed_today": end_of(WEEK.sunday)})
    with company.writing() as session:
        for one in visits:
            assert take_in_record(session, later, one).error is None
    with company.reading() as session:
        due = upkeep_due(session, WEEK)
        page = site_view(session, later, "S2").upkeep
    for found in (due, page):
        assert [(one.kind, one.is_urgent) for one in found] == [("sand-change", False)]


def test_a_stopped_spreading_leaves_the_one_before_it(company: Company) -> None:
    """Nobody loses weeks that were set."""
    level_upkeep(company.engine, company.settings, today=TODAY, weeks=26)
    with pytest.raises(Cancelled):
        level_upkeep(
            company.engine, company.settings, today=TODAY, weeks=13, should_stop=lambda: True
        )
    with company.reading() as session:
        kept = levelling(session)
    assert kept is not None
    assert kept.weeks == 26


def test_without_a_book_there_is_nothing_to_spread(tmp_path: Path) -> None:
    """The mend is said."""
    bare = open_company(tmp_path)
    with pytest.raises(NothingToPlan, match="import them first"):
        level_upkeep(bare.engine, bare.settings, today=TODAY)


def test_a_company_changes_its_table_and_takes_it_back(company: Company) -> None:
    """Sand every ten years is not due yet; as delivered it is."""
    changes = {"earliest": "9 years", "due": "10 years", "latest": "11 years"}
    with company.writing() as session:
        upkeep_table.change_kind(session, "sand-change", changes)
    with company.reading() as session:
        assert upkeep_due(session, WEEK) == ()
        assert upkeep_table.changed(session) == {"sand-change"}
        rows = upkeep_table.kind_list(upkeep_table.kinds(session)).rows
    assert len(rows) == 16
    with company.writing() as session:
        upkeep_table.reset_kind(session, "sand-change")
    with company.reading() as session:
        assert len(upkeep_due(session, WEEK)) == 1


def test_a_bad_change_changes_nothing(company: Company) -> None:
    """All or nothing."""
    with company.writing() as session:
        with pytest.raises(InvalidValue, match="does not fit into a day"):
            upkeep_table.change_kind(session, "backwash", {"crew": "2", "minutes": "0"})
        with pytest.raises(NotFound, match="no upkeep 'polish'"):
            upkeep_table.reset_kind(session, "polish")
    with company.reading() as session:
        assert upkeep_table.changed(session) == frozenset()


def test_parts_of_known_age_are_forecast(company: Company) -> None:
    """The sand of S2 has an age; the cell of S3 has none."""
    with company.reading() as session:
        found = forecasts.forecasts(session, TODAY)
    assert [(one.site_id, one.kind) for one in found] == [("S2", "sand-change")]
    assert found[0].low_on <= found[0].due_on <= found[0].high_on
    assert "80 % likelihood" in forecasts.forecast_list(found).rows[0][-1]  # type: ignore[operator]


def sand_changed(number: int, day: str, technician_id: str = "T1") -> dict[str, object]:
    """A record of a sand change at S2, whose register says June 2021."""
    return content(
        number, site_id="S2", day=day, technician_id=technician_id, readings=[],
        arrived_at=f"{day}T16:00:00Z", left_at=f"{day}T16:30:00Z",
        upkeep=[{"kind": "sand-change"}],
    )  # fmt: skip


def test_the_life_that_the_register_knew_is_not_forgotten_with_the_first_change(
    company: Company,
) -> None:
    """June 2021 to October 2026: five years that say more of this sand than the fleet does."""
    with company.writing() as session:
        take_in_record(session, company.settings, sand_changed(1, "2026-10-05"))
        (found,) = forecasts.forecasts(session, TODAY)
    assert found.lives == 1
    assert "one earlier life" in found.words


def test_a_change_that_two_people_recorded_is_one_life(company: Company) -> None:
    """Both were there and both typed it, three days apart: no sand lasts three days."""
    with company.writing() as session:
        take_in_record(session, company.settings, sand_changed(1, "2026-10-05"))
        (once,) = forecasts.forecasts(session, TODAY)
        take_in_record(session, company.settings, sand_changed(2, "2026-10-08", "T2"))
        (twice,) = forecasts.forecasts(session, TODAY)
    assert (once.lives, twice.lives) == (1, 1)
    assert abs((twice.due_on - once.due_on).days) <= 7
