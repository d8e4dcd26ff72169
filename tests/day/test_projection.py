"""What a day will come to, from what has happened so far."""

from __future__ import annotations

from datetime import UTC

from dispatch.clock import format_time, parse_time
from dispatch.day.events import DayEvent
from dispatch.day.events import EventKind as Kind
from dispatch.day.projection import Flag, Limits, alarms_due, flags, project
from dispatch.day.standing import committed, stand
from dispatch.planning.problem import Cell
from dispatch.technicians import Break
from tests.day.days import DAY, day_of, event, line_roads, truck, work

STOPS = [work(1), work(2, window="08:30-09:00"), work(5)]
NOON = Break(30, 11 * 3600, 13 * 3600)


def _begins(at: str, *events: DayEvent, cell: Cell | None = None) -> dict[str, str]:
    state = day_of({"T1": STOPS}, *events)
    roads = line_roads()
    standing = stand(state, cell or truck("T1"), roads, parse_time(at), UTC)
    return {k: format_time(v.start_s) for k, v in project(standing, roads)[0].items()}


def _flags(at: str, *events: DayEvent, cell: Cell | None = None) -> list[Flag]:
    state = day_of({"T1": STOPS}, *events)
    now_s, roads = parse_time(at), line_roads()
    standing = stand(state, cell or truck("T1"), roads, now_s, UTC)
    return list(flags(state, standing, roads, now_s, Limits(), UTC))


def test_a_job_that_takes_longer_moves_all_that_follows() -> None:
    """Begun 8:01, 30 min agreed; at 8:50 it still lasts, so S2 is 1 min on, then S5 3 min."""
    started = event(2, Kind.STARTED, "08:01", "T1", "S1/1")
    assert _begins("08:10", started) == {"S2/1": "08:32", "S5/1": "09:05"}
    assert _begins("08:50", started) == {"S2/1": "08:51", "S5/1": "09:24"}


def test_a_stop_done_early_brings_the_rest_forward_but_not_before_a_window() -> None:
    """Done 8:11: S2 could begin 8:12, but its window opens at 8:30."""
    done = event(2, Kind.DONE, "08:11", "T1", "S1/1")
    assert _begins("08:11", done) == {"S2/1": "08:30", "S5/1": "09:03"}


def test_somebody_overdue_on_the_road_comes_now_at_the_earliest() -> None:
    """Left at 8:31 for a drive of a minute; at 8:50 he is still not there."""
    done = event(2, Kind.DONE, "08:31", "T1", "S1/1")
    assert _begins("08:50", done)["S2/1"] == "08:50"


def test_somebody_overdue_who_could_leave_later_comes_now_at_the_earliest() -> None:
    """Done 8:11, the next window opens at 8:30: who leaves at 8:29 need not wait at the gate.

    At 8:50 nobody has come yet; 20 minutes behind are 20 behind 8:30, not behind 8:12.
    """
    done = event(2, Kind.DONE, "08:11", "T1", "S1/1")
    assert _begins("08:50", done) == {"S2/1": "08:50", "S5/1": "09:23"}
    assert _begins("08:31", done) == {"S2/1": "08:31", "S5/1": "09:04"}


def test_whoever_is_still_on_the_way_left_a_drive_ago_at_the_earliest() -> None:
    """Done 8:11; S2 is a minute off and may wait for its window at 8:30, but not come in the past.

    At 8:20 the stop behind it may be called off, and the new route must not have S2 at 8:12.
    """
    state = day_of({"T1": STOPS}, event(2, Kind.DONE, "08:11", "T1", "S1/1"))
    standing = stand(state, truck("T1"), line_roads(), parse_time("08:20"), UTC)
    assert format_time(standing.ready_s) == "08:19"


def test_stops_done_out_of_order_are_counted_from_where_the_truck_is() -> None:
    """S5 was done first, so the drive back to S1 takes 4 min."""
    done = event(2, Kind.DONE, "09:00", "T1", "S5/1")
    assert _begins("09:00", done) == {"S1/1": "09:04", "S2/1": "09:35"}


def test_a_stop_being_driven_to_is_where_the_rest_begins() -> None:
    """Nobody is called back from the road: what may change begins behind that stop."""
    state = day_of({"T1": STOPS}, event(2, Kind.DONE, "08:31", "T1", "S1/1"))
    roads = line_roads()
    rest = committed(stand(state, truck("T1"), roads, parse_time("08:31"), UTC), roads)
    assert [one.work.visit_id for one in rest.free] == ["S5/1"]
    assert (rest.cell.start, format_time(rest.ready_s)) == (2, "09:02")


def test_the_meal_is_owed_once() -> None:
    """A stop that was planned after the meal has happened, so the meal has been taken."""
    cell = truck("T1", "08:00-16:00", meal=NOON)
    roads = line_roads()
    state = day_of({"T1": [work(1, 240), work(2, 60)]})
    assert stand(state, cell, roads, 0, UTC).cell.meal == NOON
    revision = state.revisions["T1"]
    object.__setattr__(revision.route, "break_after", 1)
    started = event(2, Kind.STARTED, "12:40", "T1", "S2/1")
    again = day_of({"T1": [work(1, 240), work(2, 60)]}, started)
    object.__setattr__(again.revisions["T1"].route, "break_after", 1)
    assert stand(again, cell, roads, parse_time("12:41"), UTC).cell.meal is None


def test_a_window_about_to_be_missed_is_flagged_with_its_minutes() -> None:
    """S2 must begin by 9:00: expected 8:51 it is close, expected 9:11 it is missed by 11 min."""
    started = event(2, Kind.STARTED, "08:01", "T1", "S1/1")
    close = [one for one in _flags("08:50", started) if one.visit_id == "S2/1"]
    assert ("window-close", 9 * 60) in [(one.kind, one.amount_s) for one in close]
    missed = [one for one in _flags("09:10", started) if one.visit_id == "S2/1"]
    assert ("window-missed", 11 * 60) in [(one.kind, one.amount_s) for one in missed]
    assert "11 min after the promised 09:00" in missed[0].words


def test_a_day_beyond_the_shift_is_flagged_early() -> None:
    """S1 until 8:31, S2 8:32 to 9:02, S5 9:05 to 9:35, home 9:40: 10 min beyond 9:30."""
    (one,) = [f for f in _flags("08:00", cell=truck("T1", "08:00-09:30")) if f.visit_id is None]
    assert (one.kind, one.amount_s) == ("shift-over", 10 * 60)


def test_an_alarm_is_due_after_45_minutes_of_silence_beyond_the_expected_end() -> None:
    """Begun 8:01, to end 8:31, silent since: no alarm at 9:15, one at 9:17, none once heard."""
    started = event(2, Kind.STARTED, "08:01", "T1", "S1/1")
    kinds = [{one.kind for one in _flags(at, started)} for at in ("09:15", "09:17")]
    assert ["no-sign-of-life" in one for one in kinds] == [False, True]
    alive = event(3, Kind.ALIVE, "09:10", "T1")
    assert "no-sign-of-life" not in {one.kind for one in _flags("09:17", started, alive)}


def test_an_alarm_is_raised_once() -> None:
    """The page shows it until it is cleared; a second alarm would only fill the history."""
    started = event(2, Kind.STARTED, "08:01", "T1", "S1/1")
    found = _flags("09:30", started)
    assert len(alarms_due(found, day_of({"T1": STOPS}, started))) == 1
    raised = event(3, Kind.ALARM, "09:17", "T1", "S1/1")
    assert alarms_due(found, day_of({"T1": STOPS}, started, raised)) == []


def test_who_has_not_set_out_is_flagged_and_not_taken_for_in_danger() -> None:
    """Nobody has seen the technician yet; that is the dispatcher's to ask."""
    kinds = {one.kind for one in _flags("09:00")}
    assert "not-started" in kinds
    assert "no-sign-of-life" not in kinds


def test_who_runs_past_midnight_keeps_the_day_and_its_stops() -> None:
    """Begun at 23:50 of Monday and done at 0:30 is Monday's stop, not Tuesday's."""
    cell = truck("T1", "15:00-24:00")
    started = event(2, Kind.STARTED, "23:50", "T1", "S1/1")
    done = event(3, Kind.DONE, "24:00", "T1", "S1/1")
    state = day_of({"T1": STOPS}, started, done)
    roads = line_roads()
    standing = stand(state, cell, roads, 24 * 3600 + 1800, UTC)
    assert standing.is_over
    assert [one.work.visit_id for one in standing.free] == ["S2/1", "S5/1"]
    assert state.day == DAY
