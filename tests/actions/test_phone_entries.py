"""What a phone sends: each entry once, in its order, and nothing lost."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from dispatch.actions.day import history, publish_day, read_day
from dispatch.actions.due import visits_due
from dispatch.actions.owner_loads import week_figures
from dispatch.actions.phone_entries import Answered, Sending, entries_of, take_entries
from dispatch.actions.records import open_asides, open_follow_ups
from dispatch.actions.take_in import take_in_record
from dispatch.actions.visit_link import Standing, visit_page
from dispatch.day.events import EventKind
from dispatch.day.state import StopState
from dispatch.errors import InvalidValue
from dispatch.people import Person
from dispatch.phone.entry import Outcome
from dispatch.records.stays import gaps_of, stays_of
from dispatch.store.records import read_attendance, read_records, read_versions
from tests.signed_in import ALMA, BEN
from tests.town import MONDAY, WEEK, Company, open_company, planned_company

PHONE = "6b0f4c9e-0f5d-4d68-9c53-0c4c1f6b7a10"
FIRST, SECOND, BENS = "S1/2026-W49/1", "S2/2026-W49/1", "S3/2026-W49/1"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a company whose Monday is published; copied, never changed."""
    made = tmp_path_factory.mktemp("published")
    company = planned_company(made)
    with company.writing() as session:
        at = datetime(2026, 11, 30, 5, tzinfo=UTC)
        publish_day(session, company.settings, MONDAY, who="Desk", at=at)
    company.engine.dispose()
    return made


@pytest.fixture
def company(folder: Path, tmp_path: Path) -> Iterator[Company]:
    """The company on its Monday, for the test alone."""
    (tmp_path / "data").mkdir()
    for name in ("dispatch.sqlite",):
        (tmp_path / "data" / name).write_bytes((folder / "data" / name).read_bytes())
    opened = open_company(tmp_path, fixed_today=MONDAY)
    yield opened
    opened.engine.dispose()


def uuid(n: int) -> str:
    return str(UUID(int=n, version=4))


def entry(n: int, kind: str, visit: str | None = FIRST, **more: Any) -> dict[str, Any]:
    """An entry of T1, the n-th of the phone, at n minutes past ten."""
    made = {
        "id": uuid(n),
        "number": n,
        "technician_id": "T1",
        "day": "2026-11-30",
        "kind": kind,
        "at": f"2026-11-30T10:{n:02d}:00Z",
        "visit_id": visit,
        "site_id": "" if visit is None else visit[:2],
    }
    return {**made, **more}


def record(n: int, visit: str = FIRST, **more: Any) -> dict[str, Any]:
    """The record of a visit, with a pH of 7.4."""
    return {
        "id": uuid(1000 + n),
        "site_id": visit[:2],
        "technician_id": "T1",
        "day": "2026-11-30",
        "visit_id": visit,
        "arrived_at": "2026-11-30T10:00:00Z",
        "left_at": "2026-11-30T10:30:00Z",
        "readings": [{"kind": "ph", "value": 7.4}],
        **more,
    }


def send(company: Company, *entries: object, person: Person = ALMA) -> list[Answered]:
    """Send entries and return the answers."""
    content = {"phone": PHONE, "sent_at": "2026-11-30T23:59:00Z", "entries": list(entries)}
    sending = Sending.of(content)
    return list(take_entries(company.engine, company.settings, person, sending).entries)


def due_in_the_week(company: Company) -> set[str]:
    """What the week at hand owes."""
    with company.reading() as session:
        found = visits_due(session, company.settings, WEEK, MONDAY)
    return {one.demand_id for one in found.due}


def outcomes(answers: list[Answered]) -> list[str]:
    return [str(one.outcome) for one in answers]


def test_an_entry_sent_twice_counts_once(company: Company) -> None:
    """The answer to the first may have been lost on the way."""
    done = entry(2, "done", record=record(1))
    assert outcomes(send(company, entry(1, "started"), done)) == ["taken", "taken"]
    assert outcomes(send(company, entry(1, "started"), done)) == ["already", "already"]
    with company.reading() as session:
        kinds = [one.kind for one in history(session, company.settings, MONDAY)]
        assert kinds.count(EventKind.DONE) == 1
        assert [one.number for one in entries_of(session)] == [1, 2]
        assert len(read_records(session, company.settings.zone)) == 1
        assert read_day(session, MONDAY).visits[FIRST].state is StopState.DONE


def test_two_calls_at_the_same_moment_count_once(company: Company) -> None:
    """A call that the phone gave up may still be under way when it sends again."""
    sent = [entry(n, "note", None, note=f"{n}") for n in range(1, 9)]
    found: list[list[Answered]] = []
    threads = [threading.Thread(target=lambda: found.append(send(company, *sent))) for _ in "ab"]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    both = [{str(one.outcome), str(other.outcome)} for one, other in zip(*found, strict=True)]
    assert both == [{"taken", "already"}] * 8
    with company.reading() as session:
        assert [one.number for one in entries_of(session)] == list(range(1, 9))


def test_a_refused_entry_holds_up_nothing_and_is_not_lost(company: Company) -> None:
    """The office finds it word for word; sent again it is refused again."""
    bad = entry(2, "dance")
    answers = send(company, entry(1, "started"), bad, entry(3, "done", record=record(1)))
    assert outcomes(answers) == ["taken", "refused", "taken"]
    assert "'dance'" in answers[1].words
    assert outcomes(send(company, bad)) == ["refused"]
    with company.reading() as session:
        assert [one.content["kind"] for one in open_asides(session)] == ["dance"]
        assert [one.id for one in entries_of(session, outcome=Outcome.REFUSED)] == [uuid(2)]


def test_a_note_that_names_a_stop_of_another_holds_up_nothing(company: Company) -> None:
    """What fails in the service is sent again for ever, and everything behind it waits."""
    sent = [entry(1, "note", BENS, note="seen from the road"), entry(2, "shift-ended", None)]
    assert outcomes(send(company, *sent)) == ["taken", "taken"]


def test_the_record_of_work_with_a_long_title_is_kept(company: Company) -> None:
    """The office may name a job in 200 letters; the technician ticks it, and that is its name."""
    job = "Bring the green pool back, " * 7
    done = entry(1, "done", record=record(1, work=[job.strip()]))
    assert outcomes(send(company, done)) == ["taken"]
    with company.reading() as session:
        assert open_asides(session) == []


def test_what_is_no_entry_at_all_is_set_aside(company: Company) -> None:
    """A runaway client loses nothing and stops nobody."""
    answers = send(company, "nonsense", {"id": 7}, entry(1, "started"))
    assert outcomes(answers) == ["refused", "refused", "taken"]
    with company.reading() as session:
        assert len(open_asides(session)) == 2


def test_an_impossible_record_is_set_aside_and_the_stop_still_counts(company: Company) -> None:
    """The technician was there: the visit is done, its figures wait for a person."""
    odd = record(1, readings=[{"kind": "ph", "value": 74}])
    (answer,) = send(company, entry(1, "done", record=odd))
    assert answer.outcome is Outcome.REFUSED
    assert "pH of 74 is not possible" in answer.words
    with company.reading() as session:
        assert [one.content["id"] for one in open_asides(session)] == [uuid(1001)]
        assert read_day(session, MONDAY).visits[FIRST].state is StopState.DONE


def test_an_undone_visit_is_planned_again_and_its_record_withdrawn(company: Company) -> None:
    """Done at the wrong pool: what was said first stays readable among the versions."""
    send(company, entry(1, "done", record=record(1)))
    answers = send(company, entry(2, "undone", record_id=uuid(1001)))
    assert outcomes(answers) == ["taken"]
    with company.reading() as session:
        (kept,) = read_records(session, company.settings.zone)
        assert "by mistake" in kept.record.skipped
        assert kept.record.readings == ()
        assert read_day(session, MONDAY).visits[FIRST].state is StopState.PLANNED
        assert len(read_versions(session, uuid(1001), company.settings.zone)) == 2


def test_a_visit_done_by_mistake_stays_due(company: Company) -> None:
    """S1 was last served a week before; nobody came on this Monday."""
    assert "S1" in due_in_the_week(company)
    send(company, entry(1, "started"), entry(2, "done", record=record(1)))
    assert "S1" not in due_in_the_week(company)
    send(company, entry(3, "undone", record_id=uuid(1001)))
    assert "S1" in due_in_the_week(company)


def test_a_visit_done_by_mistake_took_no_time_and_is_nobody_s_drive(company: Company) -> None:
    """Done at 10:30 at the wrong pool and taken back: the 5 minutes to the next stop are no drive.

    In the hours of the week the visit stands as planned, not as one that was skipped.
    """
    with company.reading() as session:
        (before,) = week_figures(session, company.settings, WEEK)
    times = {"arrived_at": "2026-11-30T10:35:00Z", "left_at": "2026-11-30T11:20:00Z"}
    send(company, entry(1, "done", record=record(1)),
         entry(2, "done", SECOND, record=record(2, SECOND, **times)))  # fmt: skip
    send(company, entry(3, "undone", record_id=uuid(1001)))
    with company.reading() as session:
        attended = read_attendance(session)
        (week,) = week_figures(session, company.settings, WEEK)
    assert gaps_of(attended) == []
    assert [one.site_id for one in stays_of(attended)[0]] == ["S2"]
    assert (week.stops, week.recorded) == (before.stops, 1)


def test_a_visit_that_another_made_after_a_mistake_has_one_record(company: Company) -> None:
    """Taken back on one phone and done by Ben: the office has nothing to look into there."""
    send(company, entry(1, "done", record=record(1)), entry(2, "undone", record_id=uuid(1001)))
    bens = record(2, technician_id="T2", took_over=True)
    with company.writing() as session:
        taken = take_in_record(session, company.settings, bens)
    assert not any("another record" in flag for flag in taken.flags)


def test_a_customer_of_a_visit_done_by_mistake_still_expects_it(company: Company) -> None:
    """Nobody was at the gate yet: the link must not say that the visit was not made."""
    send(company, entry(1, "done", record=record(1)), entry(2, "undone", record_id=uuid(1001)))
    now = datetime(2026, 11, 30, 7, tzinfo=company.settings.zone)
    with company.reading() as session:
        shown = visit_page(session, company.settings, MONDAY, "S1", FIRST, now=now)
    assert shown.standing is Standing.EXPECTED


def test_water_tested_by_mistake_is_tested_again(company: Company) -> None:
    """The chlorine of Sunday was unsafe, and the right one was that of another pool."""
    unsafe = record(9, visit_id=None, day="2026-11-29", arrived_at=None, left_at=None)
    unsafe["readings"] = [{"kind": "free-chlorine", "value": 0.2}]
    with company.writing() as session:
        (asked,) = take_in_record(session, company.settings, unsafe).follow_ups
    right = record(1, readings=[{"kind": "free-chlorine", "value": 3.0}])
    send(company, entry(1, "done", record=right))
    with company.reading() as session:
        assert open_follow_ups(session) == []
    send(company, entry(2, "undone", record_id=uuid(1001)))
    with company.reading() as session:
        assert open_follow_ups(session) == [asked]


def test_a_visit_entered_anew_corrects_its_record(company: Company) -> None:
    """After the undo the technician does it right: one record, three versions."""
    send(company, entry(1, "done", record=record(1)), entry(2, "undone", record_id=uuid(1001)))
    anew = record(1, readings=[{"kind": "ph", "value": 7.6}])
    assert outcomes(send(company, entry(3, "done", record=anew))) == ["taken"]
    with company.reading() as session:
        (kept,) = read_records(session, company.settings.zone)
        assert (kept.record.readings[0].value, kept.version) == (7.6, 3)
        assert kept.record.skipped == ""


def test_nobody_can_overwrite_the_record_of_another_visit(company: Company) -> None:
    """An id that is used already for something else is a conflict, and is set aside."""
    send(company, entry(1, "done", record=record(1)))
    other = record(1, SECOND, site_id="S2")
    (answer,) = send(company, entry(2, "done", SECOND, record=other))
    assert answer.outcome is Outcome.REFUSED
    with company.reading() as session:
        (kept,) = read_records(session, company.settings.zone)
        assert kept.record.site_id == "S1"


def test_a_reading_at_a_stop_that_was_given_away_is_kept_and_told_to_both(
    company: Company,
) -> None:
    """S3 is Ben's: Alma did it all the same, her reading counts, the office has a note."""
    sent = record(1, BENS, site_id="S3")
    (answer,) = send(company, entry(1, "done", BENS, record=sent))
    assert answer.outcome is Outcome.TAKEN
    assert "Invented Three was given to Invented Ben meanwhile." in answer.words
    with company.reading() as session:
        (kept,) = read_records(session, company.settings.zone)
        assert (kept.record.took_over, kept.record.readings[0].value) == (True, 7.4)
        notes = [
            one.why
            for one in history(session, company.settings, MONDAY)
            if one.kind is EventKind.NOTE
        ]
        assert len(notes) == 1
        assert "Invented Alma did it at 10:01" in notes[0]
        assert read_day(session, MONDAY).visits[BENS].state is StopState.DONE


def test_a_skip_at_a_stop_that_was_given_away_leaves_it_to_its_new_owner(
    company: Company,
) -> None:
    """A gate locked to one says nothing of the visit that another is still to make."""
    why = {"reason": "gate-locked", "record": record(1, BENS, readings=[], skipped="Gate locked")}
    answers = send(company, entry(1, "started", BENS), entry(2, "skipped", BENS, **why))
    assert outcomes(answers) == ["taken", "taken"]
    with company.reading() as session:
        visit = read_day(session, MONDAY).visits[BENS]
        assert (visit.state, visit.technician_id) == (StopState.PLANNED, "T2")


def test_a_technician_enters_for_himself_only(company: Company) -> None:
    """Ben's session cannot enter Alma's work; what he sends is set aside."""
    (answer,) = send(company, entry(1, "started"), person=BEN)
    assert answer.outcome is Outcome.REFUSED
    assert "cannot enter for technician 'T1'" in answer.words


def test_a_clock_that_runs_ahead_is_held_at_the_moment_of_receipt(company: Company) -> None:
    """What happened cannot lie ahead; the phone's own time stays in the event."""
    late = "2026-12-02T08:00:00Z"
    sent = record(1, arrived_at=late, left_at=late)
    assert outcomes(send(company, entry(1, "done", at=late, record=sent))) == ["taken"]
    with company.reading() as session:
        event = history(session, company.settings, MONDAY)[-1]
        assert event.at == company.settings.now().replace(microsecond=0)
        assert event.data["phone_at"].startswith("2026-12-02T08:00")


def test_an_entry_of_a_day_that_was_never_published_keeps_its_record(company: Company) -> None:
    """The reading is worth more than the event that has no place."""
    day = {"day": "2026-11-25"}
    sent = record(1, visit_id=None, **day, arrived_at=None, left_at=None)
    (answer,) = send(company, entry(1, "done", **day, record=sent))
    assert answer.outcome is Outcome.TAKEN
    assert "has not been published" in answer.words


def test_a_call_without_a_list_of_entries_is_refused() -> None:
    """That is a fault of the program, not of an entry."""
    with pytest.raises(InvalidValue, match="list of entries"):
        Sending.of({"phone": PHONE})
