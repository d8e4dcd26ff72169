"""Records in the database: equal after the round trip, every version kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from dispatch.errors import NotFound
from dispatch.readings import ReadingKind, UpkeepDone
from dispatch.records.content import digest_of, record_of
from dispatch.store.book import write_sites
from dispatch.store.db import transaction
from dispatch.store.record_history import (
    read_first_within,
    read_history,
    read_last_readings,
    read_products_used,
    read_upkeep_done,
)
from dispatch.store.records import (
    KeptRecord,
    read_attendance,
    read_digests,
    read_last_day,
    read_record,
    read_records,
    read_state,
    read_versions,
    write_records,
)
from tests.records.samples import content, full_content, record, record_id
from tests.store.values import SITES

pytestmark = pytest.mark.both_databases

NOW = datetime(2026, 11, 25, 20, tzinfo=UTC)


@pytest.fixture
def session(engine: Engine) -> Iterator[Session]:
    with transaction(engine) as session:
        sites = [replace(site, id=f"S{n}") for n, site in enumerate(SITES, start=1)]
        write_sites(session, sites)
        yield session


def keep(session: Session, *records: KeptRecord) -> None:
    write_records(session, list(records), UTC)


def kept(number: int = 1, **fields: object) -> KeptRecord:
    return KeptRecord(record(number, **fields), 1, ("odd",), NOW)


def test_the_newest_records_are_the_last_of_all(session: Session) -> None:
    """By day, then arrival; one without arrival comes first on its day."""
    keep(session, *(kept(n, day=f"2026-11-{20 + n % 3}") for n in range(1, 8)))
    keep(session, kept(8, day="2026-11-22", arrived_at=None, left_at=None))
    everything = read_records(session, UTC)
    assert [one.record.day for one in everything] == sorted(one.record.day for one in everything)
    for newest in (1, 3, 8, 20):
        assert read_records(session, UTC, newest=newest) == everything[-newest:]


def test_a_record_read_is_the_record_written(session: Session) -> None:
    """Everything in it, its flags and when it came."""
    first = KeptRecord(record_of(full_content(), UTC), 1, ("one", "two"), NOW)
    keep(session, first)
    assert read_record(session, record_id(1), UTC) == first
    with pytest.raises(NotFound):
        read_record(session, record_id(2), UTC)


def test_every_version_stays(session: Session) -> None:
    """The second version replaces the record and its readings, not the first version."""
    keep(session, kept(readings=[{"kind": "salt", "value": 320}]))
    second = replace(kept(readings=[{"kind": "salt", "value": 3200}]), version=2)
    write_records(session, [second], UTC, changed_by="Office", reason="a digit", now=NOW)
    versions = read_versions(session, record_id(1), UTC)
    assert [one.record.readings[0].value for one in versions] == [320, 3200]
    assert [one.changed_by for one in versions] == ["T1", "Office"]
    assert [one.reading.value for one in read_history(session)] == [3200]
    assert read_digests(session, [record_id(1)])[record_id(1)] == {
        digest_of(one.record) for one in versions
    }


def test_more_ids_than_one_statement_takes(session: Session) -> None:
    """A company that comes from another system brings thousands of records at once."""
    keep(session, *(kept(n) for n in range(1200)))
    assert len(read_digests(session, [record_id(n) for n in range(1200)])) == 1200
    assert len(read_records(session, UTC)) == 1200


def test_records_are_found_by_site_technician_and_day(session: Session) -> None:
    """The lists of a site, a technician and a span of days."""
    keep(session, kept(1), kept(2, site_id="S2"), kept(3, technician_id="T2", day="2026-11-20"))
    found = {
        "site": read_records(session, UTC, site_id="S1"),
        "technician": read_records(session, UTC, technician_id="T2"),
        "days": read_records(session, UTC, first_day=date(2026, 11, 21)),
    }
    ids = {name: [one.record.id for one in rows] for name, rows in found.items()}
    assert ids == {
        "site": [record_id(3), record_id(1)],
        "technician": [record_id(3)],
        "days": sorted([record_id(1), record_id(2)]),
    }


def test_the_last_reading_of_each_kind_is_found(session: Session) -> None:
    """Advice and loads look at the newest only."""
    keep(
        session,
        kept(1, readings=[{"kind": "ph", "value": 7.2}, {"kind": "salt", "value": 3000}]),
        kept(2, day="2026-11-24", arrived_at="2026-11-24T16:00:00Z", left_at=None,
             readings=[{"kind": "ph", "value": 7.6}]),
    )  # fmt: skip
    last = {one.reading.kind: one.reading.value for one in read_last_readings(session)}
    assert last == {ReadingKind.PH: 7.6, ReadingKind.SALT: 3000}
    only = read_last_readings(session, [ReadingKind.SALT])
    assert [one.reading.kind for one in only] == [ReadingKind.SALT]


def test_the_first_right_reading_after_a_day_is_found(session: Session) -> None:
    """It settles a follow-up; one of the same day does not."""
    for number, (day, value) in enumerate((("23", 3.0), ("24", 0.5), ("25", 2.0))):
        at = f"2026-11-{day}T16:00:00Z"
        reading = [{"kind": "free-chlorine", "value": value}]
        keep(session, kept(number, day=f"2026-11-{day}", arrived_at=at, left_at=None,
                           readings=reading))  # fmt: skip
    found = read_first_within(
        session, "S1", ReadingKind.FREE_CHLORINE, date(2026, 11, 23), (1.0, 10.0)
    )
    assert found == (date(2026, 11, 25), 2.0, "T1")


def test_upkeep_and_products_are_read_without_the_rest(session: Session) -> None:
    """What conditions and loads need of a record; skipped visits did nothing."""
    keep(
        session,
        KeptRecord(record_of(full_content(), UTC), 1, (), NOW),
        kept(2, skipped="gate locked"),
    )
    assert read_upkeep_done(session) == {
        "S2": (UpkeepDone("backwash", date(2026, 11, 23), note="ran clear after two minutes"),)
    }
    used = read_products_used(session, date(2026, 11, 1))
    assert [one.amount for one in used["S2"][0].products] == [32, 2]
    assert set(used) == {"S2"}


def test_what_a_green_pool_took_is_no_usual_use(session: Session) -> None:
    """20 litres on three days in a row must not be loaded for each of the next eight visits."""
    added = [{"product": "liquid-chlorine", "amount": 20, "unit": "l"}]
    keep(
        session,
        kept(1, products=added),
        kept(2, day="2026-11-24", visit_id="one-off:J1/2026-W48/1", products=added,
             arrived_at="2026-11-24T16:00:00Z", left_at=None),
    )  # fmt: skip
    used = read_products_used(session, date(2026, 11, 1))
    assert [one.day for one in used["S1"]] == [date(2026, 11, 23)]
    jobs = read_products_used(session, date(2026, 11, 1), by_jobs=True)
    assert [one.day for one in jobs["one-off:J1"]] == [date(2026, 11, 24)]


def test_visits_of_one_off_work_are_no_regular_ones(session: Session) -> None:
    """A follow-up must not push the route aside when a record is corrected."""
    keep(session, kept(1), kept(2, day="2026-11-24", visit_id="one-off:J1/2026-W48/1",
                                arrived_at="2026-11-24T16:00:00Z", left_at=None))  # fmt: skip
    assert read_last_day(session, "S1", date(2026, 11, 25)) == date(2026, 11, 23)
    assert read_last_day(session, "S1", date(2026, 11, 23)) is None
    assert read_last_day(session, "S3", date(2026, 11, 25)) is None


def test_attendance_has_utc_times_and_the_state_moves(session: Session) -> None:
    """What minutes are learnt from, and what says that they must be learnt anew."""
    before = read_state(session)
    keep(session, kept(1), kept(2, site_id="S2"))
    (first, _) = read_attendance(session)
    assert first.arrived_at == datetime(2026, 11, 23, 16, tzinfo=UTC)
    assert read_state(session) != before
    assert [one.site_id for one in read_attendance(session, site_id="S2")] == ["S2"]
    assert content(1)["left_at"] == "2026-11-23T16:32:00Z"
