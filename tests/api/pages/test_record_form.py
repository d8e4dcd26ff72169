"""The form of a record and its content."""

from __future__ import annotations

from starlette.datastructures import FormData, UploadFile

from api.pages.record_form import changed_fields, content_of_form, reading_fields, values_of_record
from api.pages.units import Units
from dispatch.records.content import corrected_content, record_of
from dispatch.settings import Settings
from tests.records.samples import full_content


def test_units_of_the_country_come_first() -> None:
    """Gauges in the United States show psi; elsewhere the kept unit stands first."""
    american = {str(one.kind): one.units for one in reading_fields({}, Units(customary=True))}
    metric = {str(one.kind): one.units for one in reading_fields({}, Units(customary=False))}
    assert american["filter-pressure"] == ("psi", "kPa")
    assert metric["filter-pressure"] == ("kPa", "psi")
    assert american["ph"] == ("",)


def test_a_form_sent_back_unchanged_changes_nothing() -> None:
    """Opening the form of a correction and sending it must not make a version."""
    settings = Settings(time_zone="America/Phoenix")
    record = record_of(full_content(), settings.zone)
    before = values_of_record(record, settings, Units(customary=True))
    fields: list[tuple[str, str | UploadFile]] = [
        (name, value) for name, value in before.items() if name not in ("upkeep", "seen")
    ]
    sent = FormData([*fields, ("upkeep", "backwash"), ("seen", "leak"), ("unit-flow", "gpm")])
    after = {name: " ".join(map(str, sent.getlist(name))) for name in dict.fromkeys(sent)}
    assert changed_fields(record, before, after, content_of_form(sent, [])) == {}


def test_a_changed_day_takes_its_times_along() -> None:
    """The times are local times of the day; on another day they are other moments."""
    settings = Settings(time_zone="America/Phoenix")
    record = record_of(full_content(), settings.zone)
    before = values_of_record(record, settings, Units(customary=True))
    sent = FormData({**before, "day": "2026-11-24"})
    fields = changed_fields(
        record, before, {**before, "day": "2026-11-24"}, content_of_form(sent, [])
    )
    assert fields["arrived_at"] == "2026-11-24T09:00"
    assert set(fields) == {"day", "arrived_at", "left_at"}


def test_upkeep_that_stays_ticked_keeps_what_was_found_at_it() -> None:
    """A cell cleaning is added: half an anode stays half, and the backwash keeps its note."""
    settings = Settings(time_zone="America/Phoenix")
    upkeep = [
        {"kind": "anode-cleaning", "remaining_share": 0.5, "on": "2026-11-22"},
        {"kind": "backwash", "note": "ran clear"},
        {"kind": "pump-oring"},
    ]
    record = record_of({**full_content(), "upkeep": upkeep}, settings.zone)
    before = values_of_record(record, settings, Units(customary=True))
    ticked = ["anode-cleaning", "backwash", "cell-cleaning"]
    others = [(name, value) for name, value in before.items() if name != "upkeep"]
    sent = FormData([*others, *[("upkeep", kind) for kind in ticked]])
    after = {**before, "upkeep": " ".join(ticked)}
    fields = changed_fields(record, before, after, content_of_form(sent, []))
    corrected = record_of(corrected_content(record, fields), settings.zone)
    assert corrected.upkeep[:2] == record.upkeep[:2]
    assert [one.kind for one in corrected.upkeep] == ticked
    assert {one.on for one in corrected.upkeep[1:]} == {record.day}
