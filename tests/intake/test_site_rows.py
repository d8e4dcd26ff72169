"""Tables of sites."""

import csv
import io
from datetime import date

import pytest

from dispatch.errors import AddressNotFound, ImportRejected
from dispatch.intake.site_rows import SITE_COLUMNS, read_sites
from dispatch.intake.table import RowProblem
from dispatch.places import Place
from dispatch.sites import (
    Anode,
    Equipment,
    Filter,
    Media,
    MonthDay,
    Priority,
    Rhythm,
    SaltCell,
    Sanitizer,
    Season,
    ServicePlan,
    Site,
    TimeWindow,
)

HOUR_S = 3600
ELM = Place(33.45, -111.93)  # invented
GOOD = {
    "id": "S1",
    "name": "Invented pool",
    "lat": "33.45",
    "lon": "-111.93",
    "rhythm": "weekly",
    "service_min": "25",
}


def find_elm(words: str) -> Place:
    if words == "12 Elm Street":
        return ELM
    raise AddressNotFound(f"No address point answers to '{words}': give lat and lon instead.")


def table(*rows: dict[str, str]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, [column.name for column in SITE_COLUMNS])
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def problems(text: str, *, today: date | None = None, known: list[str] | None = None) -> list[str]:
    with pytest.raises(ImportRejected) as caught:
        read_sites(text, find_elm, known_technicians=known, today=today)
    return [p.sentence for p in caught.value.problems if isinstance(p, RowProblem)]


def test_a_full_row_becomes_a_site() -> None:
    """Every column once; 15,000 US gallons are 56,781.2 litres (3.785411784 each)."""
    full = {
        "id": "S017",
        "name": "Invented pool",
        "address": "12 Elm Street",
        "rhythm": "twice-a-week",
        "service_min": "35",
        "allowed_weekdays": "Mon-Fri",
        "windows": "07:00-09:00;13:00-15:00",
        "unwanted_technicians": "T2",
        "persons": "2",
        "priority": "high",
        "seasons": "Nov-01..Feb-29=every-2-weeks/20min",
        "first_service_min": "60",
        "started_on": "2026-11-02",
        "chemicals_kg": "6.5",
        "usual_technician": "T1",
        "usual_weekday": "Mon;Thu",
        "lock": "both",
        "skills": "heights",
        "gate_note": "left of the garage",
        "gate_code": "#1234",
        "dog": "loose on Fridays",
        "pool_volume_gal": "15000",
        "sanitizer": "salt",
        "filter": "sand",
        "media_changed_on": "2022-04-12",
        "media_mass_kg": "136",
        "anode_installed_on": "2024-05-02",
        "anode_cleaned_on": "2026-05-20",
        "cell_installed_on": "2023-03-01",
        "cell_inspected_on": "2026-09-14",
        "cell_cleaned_on": "2026-02-03",
        "last_visit_on": "2026-11-23",
        "anchor_on": "2026-11-23",
    }
    (site,) = read_sites(
        table(full), find_elm, known_technicians=["T1", "T2"], today=date(2026, 11, 25)
    )
    assert site == Site(
        id="S017",
        name="Invented pool",
        address="12 Elm Street",
        place=ELM,
        plan=ServicePlan(
            rhythm=Rhythm.TWICE_A_WEEK,
            service_min=35,
            allowed_weekdays=frozenset(range(5)),
            windows=(TimeWindow(7 * HOUR_S, 9 * HOUR_S), TimeWindow(13 * HOUR_S, 15 * HOUR_S)),
            usual_technician_id="T1",
            usual_weekdays=frozenset({0, 3}),
            technician_locked=True,
            weekday_locked=True,
            skills=frozenset({"heights"}),
            last_visit_on=date(2026, 11, 23),
            anchor_on=date(2026, 11, 23),
            unwanted_technician_ids=frozenset({"T2"}),
            crew=2,
            priority=Priority.HIGH,
            seasons=(Season(MonthDay(11, 1), MonthDay(2, 29), Rhythm.EVERY_2_WEEKS, 20),),
            first_service_min=60,
            started_on=date(2026, 11, 2),
            chemicals_kg=6.5,
        ),
        gate_note="left of the garage",
        gate_code="#1234",
        dog_note="loose on Fridays",
        pool_volume_l=15_000 * 3.785411784,
        sanitizer=Sanitizer.SALT,
        equipment=Equipment(
            Filter(Media.SAND, date(2022, 4, 12), 136.0),
            Anode(date(2024, 5, 2), date(2026, 5, 20)),
            SaltCell(date(2023, 3, 1), date(2026, 9, 14), date(2026, 2, 3)),
        ),
    )


def test_a_row_with_the_least_has_the_usual_values() -> None:
    """Monday to Friday, any time, no equipment, no lock."""
    (site,) = read_sites(table(GOOD), find_elm)
    assert site == Site("S1", "Invented pool", "", ELM, ServicePlan(Rhythm.WEEKLY, 25))


def test_the_examples_of_the_columns_make_a_row_that_can_be_read() -> None:
    """What the help shows must work; of two columns that say the same, one is left out."""
    left_out = ("pool_volume_l", "filter_clean_psi", "filter_rise_psi")
    row = {c.name: c.example for c in SITE_COLUMNS if c.name not in left_out}
    (site,) = read_sites(table(row), find_elm)
    assert (site.id, site.plan.usual_technician_id, site.gate_code) == ("S017", "T1", "#1234")


@pytest.mark.parametrize(
    ("cells", "column", "what"),
    [
        ({"last_visit_on": "2026-13-01"}, "last_visit_on", "'2026-13-01' is no date"),
        ({"rhythm": "fortnightly"}, "rhythm", "write one of three-times-a-week"),
        ({"service_min": "-5"}, "service_min", "whole number"),
        ({"service_min": "0"}, "service_min", "not believable"),
        ({"lat": "-111.93", "lon": "33.45"}, "lat", "swapped"),
        ({"lon": ""}, "lon", "both or neither"),
        ({"lat": "", "lon": "", "address": "9 Gone"}, "address", "No address point"),
        ({"lat": "", "lon": ""}, "address", "neither an address"),
        (
            {"rhythm": "twice-a-week", "allowed_weekdays": "Tue"},
            "allowed_weekdays",
            "needs 2 weekdays but only Tue",
        ),
        ({"allowed_weekdays": "Monn"}, "allowed_weekdays", "is no weekday"),
        ({"usual_weekday": "Sat"}, "usual_weekday", "not among the allowed"),
        ({"lock": "weekday"}, "lock", "weekday is locked but none"),
        ({"lock": "technician"}, "lock", "technician is locked but none"),
        ({"lock": "yes"}, "lock", "is no lock"),
        ({"windows": "12:00-07:00"}, "windows", "start before the end"),
        ({"windows": "mornings"}, "windows", "07:00-12:00"),
        ({"windows": "07:00-09:00;08:00-10:00"}, "windows", "overlap"),
        ({"persons": "9"}, "persons", "persons is not believable"),
        ({"persons": "two"}, "persons", "whole number"),
        ({"priority": "urgent"}, "priority", "write one of high"),
        ({"seasons": "winter=weekly"}, "seasons", "is no season"),
        (
            {"seasons": "Jun-01..Aug-31=twice-a-week", "allowed_weekdays": "Tue"},
            "seasons",
            "needs 2 weekdays but only Tue",
        ),
        ({"first_service_min": "0"}, "first_service_min", "not believable"),
        ({"chemicals_kg": "999"}, "chemicals_kg", "not believable"),
        ({"started_on": "2036-12-24"}, "started_on", "more than a year"),
        ({"unwanted_technicians": "T9"}, "unwanted_technicians", "no technician 'T9'"),
        (
            {"unwanted_technicians": "T1", "usual_technician": "T1"},
            "unwanted_technicians",
            "not wanted",
        ),
        ({"sanitizer": "ozone"}, "sanitizer", "write one of chlorine"),
        ({"filter": "glass"}, "filter", "write one of sand"),
        ({"media_mass_kg": "136"}, "media_mass_kg", "no filter to which"),
        ({"filter": "sand", "media_mass_kg": "9999"}, "media_mass_kg", "not believable"),
        ({"cell_cleaned_on": "2026-01-01"}, "cell_cleaned_on", "sanitizer salt"),
        ({"pool_volume_l": "15"}, "pool_volume_l", "litres is not believable"),
        ({"pool_volume_gal": "15", "pool_volume_l": "57"}, "pool_volume_l", "keep one"),
        ({"usual_technician": "T9"}, "usual_technician", "no technician 'T9'"),
        ({"anode_installed_on": "2026-12-24"}, "anode_installed_on", "lies after today"),
        ({"anchor_on": "2036-12-24"}, "anchor_on", "more than a year"),
        ({"id": "S 1"}, "id", "is no id"),
    ],
)
def test_one_slip_is_one_problem_of_its_column(
    cells: dict[str, str], column: str, what: str
) -> None:
    """No slip draws a second, misleading complaint behind it."""
    (found,) = problems(table(GOOD | cells), today=date(2026, 11, 25), known=["T1"])
    assert found.startswith(f"Line 2, column {column}")
    assert what in found


@pytest.mark.parametrize(
    "cells",
    [
        {"usual_weekday": "Mo", "lock": "weekday"},
        {"allowed_weekdays": "Satt", "usual_weekday": "Sat", "lock": "weekday"},
        {"usual_technician": "T 1", "lock": "technician"},
    ],
)
def test_a_lock_on_a_misspelt_thing_is_not_complained_of(cells: dict[str, str]) -> None:
    """Once the spelling is mended the lock is fine."""
    assert len(problems(table(GOOD | cells))) == 1


def test_all_problems_of_all_rows_are_in_one_report() -> None:
    """Several in one row, one in another, an id twice; the good row is not taken in either."""
    text = table(
        GOOD,
        GOOD | {"id": "S2", "rhythm": "sometimes", "service_min": "long", "windows": "x"},
        GOOD | {"lat": "95"},
    )
    assert [sentence.split(":")[0] for sentence in problems(text)] == [
        "Line 3, column windows",
        "Line 3, column service_min",
        "Line 3, column rhythm",
        "Line 4, column lat, value '95'",
        "Line 4, column id",
    ]


def test_technicians_are_checked_only_when_they_are_known() -> None:
    """Sites may be imported before technicians."""
    (site,) = read_sites(table(GOOD | {"usual_technician": "T9"}), find_elm)
    assert site.plan.usual_technician_id == "T9"


def test_a_place_that_fits_only_when_swapped_is_found_among_the_others() -> None:
    """60.2, 24.9 and 24.9, 60.2 both lie on the globe; only the neighbours tell them apart."""
    here = [("60.20", "24.90"), ("60.21", "24.93"), ("60.19", "24.95"), ("24.92", "60.22")]
    rows = [GOOD | {"id": f"S{n}", "lat": lat, "lon": lon} for n, (lat, lon) in enumerate(here)]
    (found,) = problems(table(*rows))
    assert found.startswith("Line 5, column lat")
    assert "look swapped" in found


def test_a_place_far_away_both_ways_round_is_left_to_the_map() -> None:
    """It may be wrong, but not swapped: the streets decide."""
    here = [("60.20", "24.90"), ("60.21", "24.93"), ("60.19", "24.95"), ("10.0", "10.0")]
    rows = [GOOD | {"id": f"S{n}", "lat": lat, "lon": lon} for n, (lat, lon) in enumerate(here)]
    assert len(read_sites(table(*rows), find_elm)) == 4


@pytest.mark.parametrize(
    ("dog", "note"), [("no", ""), ("yes", "dog"), ("two, loose", "two, loose")]
)
def test_the_dog_is_a_warning_only_where_there_is_one(dog: str, note: str) -> None:
    """A technician who is warned of 'no' stops reading warnings."""
    (site,) = read_sites(table(GOOD | {"dog": dog}), find_elm)
    assert site.dog_note == note


def test_nothing_is_asked_of_the_map_for_rows_with_coordinates() -> None:
    """A book with coordinates can be imported before there is a map."""

    def no_map(words: str) -> Place:
        raise AssertionError(words)

    assert len(read_sites(table(GOOD | {"address": "12 Elm Street"}), no_map)) == 1
