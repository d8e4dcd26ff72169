"""A shift past midnight, from its plan to what is kept of it."""

from __future__ import annotations

from datetime import date
from uuid import uuid4

import pytest

from dispatch.actions import day as actions
from dispatch.actions.book import import_sites, import_technicians, sites, technicians
from dispatch.actions.calendars import technician_calendar
from dispatch.actions.lists import as_csv, site_list, technician_list
from dispatch.actions.take_in import take_in_record
from dispatch.actions.visit_link import Standing, visit_of, visit_token
from dispatch.actions.week_inputs import read_inputs
from dispatch.actions.working_day import nights_under_way, on_shift_s, served_days, working_day
from dispatch.clock import IsoWeek, format_time, parse_time
from dispatch.day.events import EventKind
from dispatch.day.projection import FlagKind
from dispatch.day.triggers import TechnicianOut
from dispatch.feeds.calendar import calendar_text
from dispatch.planning.plan import Stop
from dispatch.technicians import Shift
from tests.night_town import S1, S2, at, moment, tell
from tests.town import MONDAY, TUESDAY, Company

pytestmark = pytest.mark.sqlite_only  # the company is copied as a file


def stops(company: Company, clock: str) -> dict[str, Stop]:
    with company.reading() as session:
        seen = actions.day_now(session, company.settings, MONDAY, now=moment(company, clock))
    return {row.stop.visit_id: row.stop for one in seen.technicians for row in one.stops}


def test_windows_before_and_after_midnight_are_kept(night: Company) -> None:
    """S1 from 22:00 on, S2 after half past midnight, on the same Monday's route."""
    planned = stops(night, "19:00")
    assert parse_time("22:00") <= planned[S1].start_s <= parse_time("01:00 (+1)")
    assert parse_time("00:30 (+1)") <= planned[S2].start_s <= parse_time("01:30 (+1)")
    assert format_time(planned[S2].start_s).endswith("(+1)")
    assert planned[S2].leave_s <= parse_time("02:00 (+1)")


def test_a_week_is_planned_with_the_hours_that_the_clock_gives_a_shift(night: Company) -> None:
    """Saturday 22:00 to 06:00 has nine hours on 31 October 2026, and its truck is home by six."""
    saturday = "id,name,start_lat,start_lon,sat\nT1,Invented Alma,0,0.0005,22:00-06:00\n"
    week = IsoWeek(2026, 44)
    with night.writing() as session:
        import_technicians(session, night.settings, saturday)
        found = read_inputs(session, night.settings, week, week.monday).technicians
    shift = next(one.shifts[5] for one in found if one.id == "T1")
    assert shift == Shift(parse_time("22:00"), parse_time("07:00 (+1)"))


def test_lists_of_a_night_company_read_back_to_the_same(night: Company) -> None:
    """What is exported is imported again, shift, meal and windows included."""
    with night.writing() as session:
        before = technicians(session), [one.plan.windows for one in sites(session)]
        people, pools = as_csv(technician_list(before[0])), as_csv(site_list(sites(session)))
        assert "20:00-02:00" in people
        assert "22:00-01:00" in pools
        import_technicians(session, night.settings, people)
        import_sites(session, night.settings, pools)
        assert (technicians(session), [one.plan.windows for one in sites(session)]) == before


@pytest.mark.parametrize(
    ("clock", "marks", "day"),
    [
        ("23:59", "", MONDAY),
        ("00:10 (+1)", "", MONDAY),
        ("02:10 (+1)", "", TUESDAY),  # never begun, and it is to be over
        ("02:10 (+1)", "shift-started", MONDAY),  # begun: who serves late still needs the gates
        ("00:10 (+1)", "shift-started shift-ended", TUESDAY),  # home early
        ("08:30 (+1)", "shift-started", TUESDAY),  # the end was forgotten, Tuesday's shift began
    ],
)
def test_the_day_of_a_night_shift_goes_on_until_it_ends(
    night: Company, clock: str, marks: str, day: date
) -> None:
    """After midnight the phone shows the stops that are being served, not tomorrow's."""
    for n, kind in enumerate(marks.split()):
        tell(night, EventKind(kind), f"20:0{n}")
    with night.reading() as session:
        settings = at(night, clock)
        assert working_day(session, settings, "T1") == day
        assert served_days(session, settings, "T1") == {settings.today(), day}
        assert working_day(session, settings, "T2") == settings.today()
        out = [one.technician_id for one in nights_under_way(session, settings)]
        assert out == (["T1"] if day < settings.today() else [])


def test_a_technician_alone_after_midnight_is_missed(night: Company) -> None:
    """Started S1 at 22:30 and gave no sign since: at one o'clock it is an alarm, not at noon."""
    tell(night, EventKind.SHIFT_STARTED, "20:05")
    tell(night, EventKind.STARTED, "22:30", S1)
    with night.writing() as session:
        late = moment(night, "12:00 (+1)")
        assert actions.raise_alarms(session, night.settings, MONDAY, now=late) == ()
        now = moment(night, "01:00 (+1)")
        (alarm,) = actions.raise_alarms(session, night.settings, MONDAY, now=now)
        assert (alarm.technician_id, alarm.visit_id) == ("T1", S1)
        (one,) = nights_under_way(session, at(night, "01:01 (+1)"))
        assert one.alarm


def test_what_will_miss_a_window_after_midnight_is_flagged(night: Company) -> None:
    """Still at S1 at 01:20: S2, 45 minutes of service, cannot begin by 01:30 nor end by 02:00."""
    tell(night, EventKind.SHIFT_STARTED, "20:05")
    tell(night, EventKind.STARTED, "01:15 (+1)", S1)
    with night.reading() as session:
        now = moment(night, "01:20 (+1)")
        seen = actions.day_now(session, night.settings, MONDAY, now=now)
    found = {(one.kind, one.visit_id) for one in seen.flags}
    assert {(FlagKind.WINDOW_MISSED, S2), (FlagKind.SHIFT_OVER, None)} <= found


def test_a_night_is_repaired_after_midnight(night: Company) -> None:
    """Alma is out from 00:15 on; S1 is done and stays, S2 is T1's alone and finds no other."""
    tell(night, EventKind.SHIFT_STARTED, "20:05")
    tell(night, EventKind.STARTED, "22:05", S1)
    tell(night, EventKind.DONE, "22:35", S1)
    with night.reading() as session:
        at_s = on_shift_s(session, night.settings, MONDAY, "T1", parse_time("00:15"))
        now = moment(night, "00:10 (+1)")
        trigger = TechnicianOut("T1", at_s)
        offer = actions.repair_options(session, night.settings, MONDAY, trigger, now=now)
    assert at_s == parse_time("00:15 (+1)")
    option = next(one for one in offer.options if one.key == "keep-order")
    with night.writing() as session:
        actions.take_option(
            session,
            night.settings,
            MONDAY,
            option.choice,
            expected_version=offer.version,
            who="Ada",
            now=moment(night, "00:11 (+1)"),
        )
        seen = actions.day_now(session, night.settings, MONDAY, now=moment(night, "00:12 (+1)"))
    alma = next(one for one in seen.technicians if one.technician_id == "T1")
    assert [(row.stop.visit_id, row.now.state) for row in alma.stops] == [(S1, "done")]
    assert {one.work.visit_id: one.state for _, one in seen.others}[S2] == "unplaced"


def test_a_customer_is_told_the_time_after_midnight(night: Company) -> None:
    """At ten past midnight the visit is expected still; at noon it is an open question."""
    with night.reading() as session:
        token = visit_token(session, night.settings, MONDAY, S2)
        settings = at(night, "00:10 (+1)")
        page = visit_of(session, settings, token, now=settings.now())
        assert page.standing is Standing.EXPECTED
        assert page.window_s is not None
        assert page.window_s[1] > parse_time("00:30 (+1)")
        settings = at(night, "12:00 (+1)")
        assert visit_of(session, settings, token, now=settings.now()).standing is Standing.OPEN


def test_a_calendar_has_the_night_on_the_next_date(night: Company) -> None:
    """A stop of Monday's shift that begins at 00:30 is an entry of Tuesday."""
    with night.reading() as session:
        found = technician_calendar(session, night.settings, "T1")
    text = calendar_text(found, night.settings).decode()
    assert "DTSTART;TZID=America/New_York:20261201T003" in text
    assert "DTEND;TZID=America/New_York:20261201T011" in text


def test_a_record_after_midnight_is_one_of_the_shifts_day(night: Company) -> None:
    """The rhythm counts from Monday, and an arrival on Tuesday's date is nothing odd."""
    content = {
        "id": str(uuid4()),
        "site_id": "S2",
        "technician_id": "T1",
        "visit_id": S2,
        "day": MONDAY.isoformat(),
        "arrived_at": moment(night, "00:35 (+1)").isoformat(),
        "left_at": moment(night, "01:15 (+1)").isoformat(),
    }
    with night.writing() as session:
        taken = take_in_record(session, at(night, "01:20 (+1)"), content)
        assert (taken.error, taken.flags) == (None, ())
        pool = next(one for one in sites(session) if one.id == "S2")
    assert pool.plan.last_visit_on == MONDAY
