"""Where a day stands: every due visit in exactly one state, whatever happened."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from dispatch.day.events import EventKind as Kind
from dispatch.day.events import SkipReason
from dispatch.day.state import StopState, fold
from tests.day.days import DAY, day_of, event, revision, work

ONE, TWO, THREE = work(1), work(2), work(3)


def _gone(visit: str, state: StopState) -> list[dict[str, object]]:
    return [{"visit_id": visit, "state": str(state), "to_day": None}]


def test_a_visit_is_planned_then_under_way_then_done() -> None:
    """The plain course of a stop."""
    started = event(2, Kind.STARTED, "08:01", "T1", "S1/1")
    done = event(3, Kind.DONE, "08:31", "T1", "S1/1")
    seen = [
        day_of({"T1": [ONE]}, *events).visits["S1/1"] for events in ([], [started], [started, done])
    ]
    assert [one.state for one in seen] == ["planned", "under-way", "done"]
    assert (seen[2].started_at, seen[2].left_at) == (started.at, done.at)


def test_a_mistake_is_undone_once() -> None:
    """Undone takes back the last entry of that visit and no other."""
    events = [
        event(2, Kind.STARTED, "08:01", "T1", "S1/1"),
        event(3, Kind.DONE, "08:02", "T1", "S1/1"),
        event(4, Kind.UNDONE, "08:03", "T1", "S1/1"),
    ]
    assert day_of({"T1": [ONE]}, *events).visits["S1/1"].state is StopState.UNDER_WAY


def test_what_was_done_counts_though_the_stop_was_taken_away() -> None:
    """A phone without signal does not know of a repair; its readings must not be lost."""
    before = revision("T1", [ONE, TWO])
    after = revision("T1", [TWO], number=2)
    repaired = event(2, Kind.REPAIRED, "09:00", gone=_gone("S1/1", StopState.CANCELLED))
    late = event(3, Kind.DONE, "08:31", "T1", "S1/1")
    cancelled = fold(DAY, [before, after], [event(1, Kind.PUBLISHED, who="T1"), repaired])
    assert cancelled.visits["S1/1"].state is StopState.CANCELLED
    done = fold(DAY, [before, after], [event(1, Kind.PUBLISHED, who="T1"), repaired, late])
    assert (done.visits["S1/1"].state, done.visits["S1/1"].technician_id) == ("done", "T1")


def test_any_earlier_state_can_be_had_from_fewer_events() -> None:
    """The history answers how the day looked when a decision was made."""
    before, after = revision("T1", [ONE]), revision("T1", [TWO, ONE], number=2)
    events = [event(1, Kind.PUBLISHED, who="T1"), event(2, Kind.REPAIRED)]
    assert list(fold(DAY, [before, after], events[:1]).visits) == ["S1/1"]
    assert list(fold(DAY, [before, after], events).visits) == ["S1/1", "S2/1"]


def test_events_that_arrive_late_are_read_in_the_order_they_happened() -> None:
    """A second phone's done of 9:00 may arrive before the first one's started of 8:30."""
    events = [
        event(2, Kind.DONE, "09:00", "T1", "S1/1"),
        event(3, Kind.STARTED, "08:30", "T1", "S1/1"),
    ]
    assert day_of({"T1": [ONE]}, *events).visits["S1/1"].state is StopState.DONE


def test_an_alarm_stands_until_it_is_cleared() -> None:
    """A person who may need help is not forgotten by the next event."""
    alarm = event(2, Kind.ALARM, "10:00", "T1", "S1/1")
    assert "T1" in day_of({"T1": [ONE]}, alarm, event(3, Kind.ALIVE, "10:05", "T1")).alarms
    cleared = event(3, Kind.ALARM_CLEARED, "10:05", "T1")
    assert day_of({"T1": [ONE]}, alarm, cleared).alarms == {}


KINDS = st.sampled_from([Kind.STARTED, Kind.DONE, Kind.SKIPPED, Kind.UNDONE])
ENTRIES = st.lists(st.tuples(KINDS, st.integers(1, 3), st.sampled_from("12")), max_size=12)
GONE = st.sampled_from([StopState.MOVED, StopState.CANCELLED, StopState.UNPLACED])


@given(ENTRIES, st.permutations([ONE, TWO, THREE]), st.integers(0, 3), GONE)
def test_every_due_visit_is_in_exactly_one_state(
    entries: list[tuple[Kind, int, str]], order: list[object], kept: int, state: StopState
) -> None:
    """Whatever is entered and however routes are changed, no visit is lost or counted twice."""
    events = [event(1, Kind.PUBLISHED, who="T1")]
    for kind, site, who in entries:
        data = {"reason": str(SkipReason.DOG)} if kind is Kind.SKIPPED else {}
        events.append(event(len(events) + 1, kind, "09:00", f"T{who}", f"S{site}/1", **data))
    number = len(events) + 1
    out = [one.visit_id for one in order[kept:]]  # type: ignore[attr-defined]
    gone = [{"visit_id": one, "state": str(state), "to_day": None} for one in out]
    events.append(event(number, Kind.REPAIRED, gone=gone))
    before = revision("T1", [ONE, TWO, THREE])
    after = revision("T1", order[:kept], number=number)  # type: ignore[arg-type]
    day = fold(DAY, [before, after], events)
    assert sorted(day.visits) == ["S1/1", "S2/1", "S3/1"]
    standing = {one.state for one in day.visits.values() if one.work.visit_id not in out}
    assert not standing & {StopState.MOVED, StopState.CANCELLED, StopState.UNPLACED}
    happened = {visit for visit, one in day.visits.items() if one.left_at or one.started_at}
    left = {visit for visit, one in day.visits.items() if one.state is state}
    assert left == set(out) - {v for v in happened if day.visits[v].state in ("done", "under-way")}
    assert day.version == number


def test_signs_of_life_are_the_latest_of_each_technician() -> None:
    """An alarm asks how long ago somebody was heard of."""
    first = event(2, Kind.ALIVE, "09:00", "T1")
    day = day_of({"T1": [ONE]}, first, event(3, Kind.DONE, "08:31", "T1", "S1/1"))
    assert day.last_sign["T1"] == first.at
    assert day.last_sign["T1"] - day.visits["S1/1"].left_at == timedelta(minutes=29)  # type: ignore[operator]


def test_what_a_note_brings_along_takes_nothing_out_of_the_day() -> None:
    """Only publishing and repairs do; whatever a phone sends, the day can be shown."""
    for gone in ([5], _gone("S1/1", StopState.CANCELLED)):
        noted = event(2, Kind.NOTE, "08:00", "T1", gone=gone)
        later = revision("T1", [], number=1)
        seen = fold(
            DAY, [revision("T1", [ONE]), later], [event(1, Kind.PUBLISHED, who="T1"), noted]
        )
        assert seen.visits["S1/1"].state is StopState.UNPLACED
