"""Taking in records: each counts once, none is lost."""

from __future__ import annotations

from datetime import date

import pytest
from sqlmodel import Session

from dispatch.actions.read_plan import week_plan
from dispatch.actions.records import (
    accept_aside,
    correct_record,
    dismiss_aside,
    find_photo,
    keep_photo,
    one_record,
    open_asides,
    open_follow_ups,
    record_versions,
    records_between,
    settle,
    site_history,
)
from dispatch.actions.take_in import Outcome, take_in_record, take_in_records
from dispatch.errors import InvalidValue, NotFound, RecordConflict
from dispatch.readings import ReadingKind
from dispatch.sites import Media, Site
from dispatch.store.book import read_sites
from tests.records.samples import DAY, content, full_content, record_id
from tests.records.test_photos import JPEG
from tests.town import WEEK, Company, end_of


def site(session: Session, site_id: str) -> Site:
    return next(one for one in read_sites(session) if one.id == site_id)


def test_a_record_sent_twice_counts_once(company: Company) -> None:
    """A phone without signal sends again until it hears an answer."""
    with company.writing() as session:
        first = take_in_record(session, company.settings, full_content())
        again = take_in_record(session, company.settings, full_content())
        assert (first.outcome, again.outcome) == (Outcome.KEPT, Outcome.KNOWN)
        assert len(records_between(session, company.settings)) == 1
        assert len(open_follow_ups(session)) == 2  # a leak and a part to order
        assert len(site_history(session, "S2", (ReadingKind.PH,))) == 1


def test_a_record_twice_in_one_batch_counts_once(company: Company) -> None:
    """A day's records arrive together after an evening without signal."""
    with company.writing() as session:
        answers = take_in_records(session, company.settings, [content(), content(), content(2)])
    assert [one.outcome for one in answers] == [Outcome.KEPT, Outcome.KNOWN, Outcome.KEPT]


def test_another_content_of_the_same_id_is_set_aside(company: Company) -> None:
    """Neither may overwrite the other: the first stays, the second waits for a person."""
    with company.writing() as session:
        take_in_record(session, company.settings, content(note="first"))
        answer = take_in_record(session, company.settings, content(note="second"))
        assert answer.outcome is Outcome.ASIDE
        assert isinstance(answer.error, RecordConflict)
        assert one_record(session, company.settings, record_id(1)).record.note == "first"
        assert open_asides(session)[0].content["note"] == "second"


def test_what_is_refused_is_kept_word_for_word(company: Company) -> None:
    """A mixed-up unit must not cost the technician's afternoon."""
    bad = content(readings=[{"kind": "water-temperature", "value": 84}], note="typed at the pad")
    with company.writing() as session:
        answer = take_in_record(session, company.settings, bad)
        again = take_in_record(session, company.settings, bad)
        assert "84 °F is 28.9 °C" in str(answer.error)
        assert answer.aside == again.aside
        assert [one.content for one in open_asides(session)] == [bad]
        assert records_between(session, company.settings) == []


def test_what_was_set_aside_is_taken_in_once_mended(company: Company) -> None:
    """The office corrects the unit; the record then is like any other."""
    bad = content(readings=[{"kind": "water-temperature", "value": 84}])
    good = [{"kind": "water-temperature", "value": 84, "unit": "°F"}]
    with company.writing() as session:
        aside = take_in_record(session, company.settings, bad).aside
        with pytest.raises(InvalidValue):
            accept_aside(session, company.settings, aside, {}, by="Office")
        accept_aside(session, company.settings, aside, {"readings": good}, by="Office")
        assert open_asides(session) == []
        assert len(records_between(session, company.settings)) == 1
        with pytest.raises(InvalidValue, match="settled by Office already"):
            accept_aside(session, company.settings, aside, {}, by="Office")


def test_a_conflict_that_is_accepted_becomes_a_correction(company: Company) -> None:
    """The history then shows both, and who decided."""
    with company.writing() as session:
        take_in_record(session, company.settings, content(note="first"))
        aside = take_in_record(session, company.settings, content(note="second")).aside
        accept_aside(session, company.settings, aside, {}, by="Office")
        versions = record_versions(session, company.settings, record_id(1))
        assert [one.record.note for one in versions] == ["first", "second"]
        assert versions[1].changed_by == "Office"


def test_what_is_dismissed_stays_readable(company: Company) -> None:
    """Nothing that was sent is thrown away."""
    with company.writing() as session:
        aside = take_in_record(session, company.settings, {"nonsense": 1}).aside
        dismiss_aside(session, company.settings, aside, by="Office", why="a test of the phone")
        assert open_asides(session) == []
        with pytest.raises(InvalidValue, match="a test of the phone"):
            dismiss_aside(session, company.settings, aside, by="Office", why="again")


def test_a_record_moves_the_last_visit_and_the_register(company: Company) -> None:
    """S2's sand was changed on the visit, so its upkeep counts from that day."""
    changed = content(
        site_id="S2",
        day="2026-11-24",
        arrived_at="2026-11-24T15:00:00Z",
        left_at="2026-11-24T17:00:00Z",
        upkeep=[{"kind": "sand-change"}],
    )
    with company.writing() as session:
        take_in_record(session, company.settings, changed)
        moved = site(session, "S2")
    assert moved.plan.last_visit_on == date(2026, 11, 24)
    assert moved.equipment.filter is not None
    assert moved.equipment.filter.media_changed_on == date(2026, 11, 24)


def test_an_older_record_does_not_move_the_last_visit_back(company: Company) -> None:
    """Records arrive in any order."""
    with company.writing() as session:
        take_in_record(session, company.settings, content(day="2026-11-02", arrived_at=None))
        assert site(session, "S1").plan.last_visit_on == DAY


def test_a_skipped_visit_is_no_visit(company: Company) -> None:
    """The gate was locked: the pool has not been served."""
    with company.writing() as session:
        take_in_record(session, company.settings, content(day="2026-11-24", skipped="gate locked"))
        assert site(session, "S1").plan.last_visit_on == DAY
        assert records_between(session, company.settings)[0].record.skipped == "gate locked"


def test_upkeep_that_does_not_fit_is_set_aside(company: Company) -> None:
    """S2 has sand; a cartridge cannot have been changed there."""
    with company.writing() as session:
        wrong = content(site_id="S2", upkeep=[{"kind": "cartridge-change"}])
        assert take_in_record(session, company.settings, wrong).outcome is Outcome.ASIDE
        media = site(session, "S2").equipment.filter
        assert media is not None
        assert media.media is Media.SAND


def test_one_bad_record_does_not_hold_up_the_others(company: Company) -> None:
    """A batch is no table: what is good is kept."""
    batch = [content(1), content(2, site_id="S9"), content(3)]
    with company.writing() as session:
        answers = take_in_records(session, company.settings, batch)
    assert [one.outcome for one in answers] == [Outcome.KEPT, Outcome.ASIDE, Outcome.KEPT]


def test_a_correction_keeps_the_history(company: Company) -> None:
    """Who changed what, when and why; the old readings are gone from the plots only."""
    wrong = content(readings=[{"kind": "salt", "value": 320}])
    with company.writing() as session:
        take_in_record(session, company.settings, wrong)
        after = correct_record(
            session,
            company.settings,
            record_id(1),
            {"readings": [{"kind": "salt", "value": 3200}]},
            by="Office",
            reason="a digit was lost",
        )
        assert after.version == 2
        versions = record_versions(session, company.settings, record_id(1))
        assert [one.record.readings[0].value for one in versions] == [320, 3200]
        assert [one.changed_by for one in versions] == ["T1", "Office"]
        assert versions[1].reason == "a digit was lost"
        assert [one.reading.value for one in site_history(session, "S1")] == [3200]
        again = take_in_record(session, company.settings, wrong)
        assert again.outcome is Outcome.KNOWN  # the phone sends its first version once more


def test_a_correction_takes_the_last_visit_back(company: Company) -> None:
    """The record named the wrong day, and no other visit took place on it."""
    with company.writing() as session:
        take_in_record(session, company.settings, content(1))
        take_in_record(session, company.settings, content(2, day="2026-11-24", arrived_at=None))
        assert site(session, "S1").plan.last_visit_on == date(2026, 11, 24)
        correct_record(
            session,
            company.settings,
            record_id(2),
            {"day": "2026-11-20"},
            by="Office",
            reason="it was Friday",
        )
        assert site(session, "S1").plan.last_visit_on == DAY


@pytest.mark.parametrize(
    ("fields", "by", "words"),
    [
        ({"site_id": "S2"}, "Office", "keeps the record's id and site"),
        ({"day": "2026-12-24"}, "Office", "after today"),
        ({"note": "x"}, " ", "who does it"),
    ],
)
def test_a_bad_correction_changes_nothing(
    company: Company, fields: dict[str, object], by: str, words: str
) -> None:
    """The record stays as it was, in its first version."""
    with company.writing() as session:
        take_in_record(session, company.settings, content())
        with pytest.raises(InvalidValue, match=words):
            correct_record(session, company.settings, record_id(1), fields, by=by, reason="why")
        assert one_record(session, company.settings, record_id(1)).version == 1


def test_a_correction_that_says_the_same_is_none(company: Company) -> None:
    """A form sent without a change must not fill the history."""
    with company.writing() as session:
        take_in_record(session, company.settings, content())
        same = correct_record(session, company.settings, record_id(1), {}, by="x", reason="y")
        assert same.version == 1


def test_corrected_water_takes_its_follow_up_back(company: Company) -> None:
    """0.3 ppm was 3.0; nobody needs to drive there. A settled follow-up stays."""
    low = content(readings=[{"kind": "free-chlorine", "value": 0.3}], seen=["leak"])
    with company.writing() as session:
        take_in_record(session, company.settings, low)
        leak = next(one for one in open_follow_ups(session) if "leak" in one.reason)
        settle(session, company.settings, leak.id, by="Office", outcome="tightened a union")
        right = {"readings": [{"kind": "free-chlorine", "value": 3.0}]}
        correct_record(session, company.settings, record_id(1), right, by="x", reason="y")
        assert open_follow_ups(session) == []
        with pytest.raises(InvalidValue, match="settled on"):
            settle(session, company.settings, leak.id, by="Office", outcome="again")


def test_a_photo_is_kept_once_and_found_again(company: Company) -> None:
    """Its bytes lie in a file below the data folder; the record names it."""
    with company.writing() as session:
        photo = keep_photo(session, company.settings, JPEG)
        keep_photo(session, company.settings, JPEG)
        found, file = find_photo(session, company.settings, photo.id)
        assert (found, file.read_bytes()) == (photo, JPEG)
        taken = take_in_record(session, company.settings, content(photos=[photo.id]))
        assert taken.flags == ()
        with pytest.raises(NotFound):
            find_photo(session, company.settings, "0" * 64)


def test_a_visit_of_another_technician_is_refused_unless_taken_over(planned: Company) -> None:
    """The plan says who was to go there."""
    with planned.reading() as session:
        plan = week_plan(session, WEEK)
    route = next(one for one in plan.routes if one.stops)
    stop = route.stops[0]
    other = "T2" if route.technician_id == "T1" else "T1"
    settings = planned.settings.model_copy(update={"fixed_today": end_of(route.day)})
    wrong = content(
        site_id=stop.site_id,
        technician_id=other,
        visit_id=stop.visit_id,
        day=route.day.isoformat(),
        arrived_at=None,
        left_at=None,
    )
    with planned.writing() as session:
        refused = take_in_record(session, settings, wrong)
        assert "planned for technician" in str(refused.error)
        assert take_in_record(session, settings, {**wrong, "took_over": True}).flags
