"""Tables of technicians."""

from datetime import date

import pytest

from dispatch.errors import AddressNotFound, ImportRejected
from dispatch.intake.table import RowProblem
from dispatch.intake.technician_rows import TECHNICIAN_COLUMNS, read_technicians
from dispatch.places import Place
from dispatch.technicians import Break, Overtime, Shift, SupplyStop, Technician

HOUR_S = 3600
YARD = Place(33.4, -111.9)  # invented
HEADER = ",".join(column.name for column in TECHNICIAN_COLUMNS)


def find_yard(words: str) -> Place:
    if words == "1 Yard Lane":
        return YARD
    raise AddressNotFound(f"No address point answers to '{words}': give lat and lon instead.")


def line(**cells: str) -> str:
    return ",".join(cells.get(column.name, "") for column in TECHNICIAN_COLUMNS)


def problems(*lines: str) -> list[str]:
    with pytest.raises(ImportRejected) as caught:
        read_technicians("\n".join((HEADER, *lines)), find_yard)
    return [p.sentence for p in caught.value.problems if isinstance(p, RowProblem)]


GOOD = {"id": "T1", "name": "Invented", "start_address": "1 Yard Lane", "mon": "07:00-15:30"}


def test_a_full_row_becomes_a_technician() -> None:
    """Every column once."""
    full = line(
        **GOOD,
        end_lat="33.5",
        end_lon="-112",
        sat="08:00-12:00",
        break_min="30",
        break_from="11:00",
        break_to="13:00",
        skills="Media;heights",
        payload_kg="450",
        days_off="2026-12-24;2026-12-28",
        slack_percent="12.5",
        persons="2;2;1;1;1;1;1",
        overtime_day_most_min="600",
        overtime_week_most_min="3000",
        overtime_pay_factor="2",
        chemicals_most_kg="150",
        supply_min="20",
        supply_address="1 Yard Lane",
    )
    monday, saturday = Shift(7 * HOUR_S, 15 * HOUR_S + 1800), Shift(8 * HOUR_S, 12 * HOUR_S)
    assert read_technicians(f"{HEADER}\n{full}\n", find_yard) == [
        Technician(
            id="T1",
            name="Invented",
            shifts=(monday, None, None, None, None, saturday, None),
            start=YARD,
            end=Place(33.5, -112.0),
            meal=Break(30, 11 * HOUR_S, 13 * HOUR_S),
            skills=frozenset({"media", "heights"}),
            payload_kg=450.0,
            days_off=frozenset({date(2026, 12, 24), date(2026, 12, 28)}),
            overtime=Overtime(600, 3000, 40 * 60, 2.0),
            slack_share=0.125,
            crew=(2, 2, 1, 1, 1, 1, 1),
            supply=SupplyStop(YARD, 20),
            chemicals_most_kg=150.0,
        )
    ]


def test_a_night_shift_and_its_meal_go_past_midnight() -> None:
    """20:00 to 02:00 with a meal that begins between 23:30 and half past midnight."""
    night = GOOD | {"mon": "20:00-02:00", "tue": "08:00-08:00"}
    night |= {"break_min": "30", "break_from": "23:30", "break_to": "00:30"}
    (technician,) = read_technicians(f"{HEADER}\n{line(**night)}\n", find_yard)
    assert technician.shifts[0] == Shift(20 * HOUR_S, 26 * HOUR_S)
    assert technician.shifts[1] == Shift(8 * HOUR_S, 32 * HOUR_S)  # a whole day
    assert technician.meal == Break(30, 23 * HOUR_S + 1800, 24 * HOUR_S + 1800)


def test_what_is_left_out_has_its_usual_value() -> None:
    """The day ends where it began, no break, 400 kg of payload (common practice)."""
    (technician,) = read_technicians(f"{HEADER}\n{line(**GOOD)}\n", find_yard)
    assert technician.end == technician.start == YARD
    assert technician.meal is None
    assert technician.payload_kg == 400.0


@pytest.mark.parametrize(
    ("cells", "where", "what"),
    [
        ({"mon": ""}, "column mon", "no shift on any weekday"),
        ({"mon": "15:00 (+1)-16:00 (+1)"}, "column id", "begins on another day"),
        ({"mon": "7-15"}, "column mon", "HH:MM"),
        ({"start_address": ""}, "column start_address", "neither an address"),
        ({"start_address": "2 Gone"}, "column start_address", "No address point"),
        ({"end_address": "2 Gone"}, "column end_address", "No address point"),
        ({"end_lat": "33"}, "column end_lon", "both or neither"),
        ({"break_min": "30", "break_from": "11:00"}, "column break_to", "fill all three"),
        (
            {"break_min": "30", "break_from": "13:00", "break_to": "11:00"},
            "column break_min",
            "cannot be placed",
        ),
        ({"payload_kg": "-1"}, "column payload_kg", "below zero"),
        ({"days_off": "2026-12-32"}, "column days_off", "year-month-day"),
        ({"id": "T 1"}, "column id", "is no id"),
        ({"name": ""}, "column name", "The cell is empty"),
    ],
)
def test_a_bad_cell_is_told_of_its_column(cells: dict[str, str], where: str, what: str) -> None:
    """One slip, one sentence."""
    (found,) = problems(line(**{**GOOD, **cells}))
    assert found.startswith(f"Line 2, {where}")
    assert what in found


def test_the_examples_of_the_columns_make_a_row_that_can_be_read() -> None:
    """What the help shows must work; only an address is a matter of the map at hand."""
    row = {column.name: column.example for column in TECHNICIAN_COLUMNS}
    row |= {"start_address": "1 Yard Lane", "end_address": "1 Yard Lane"}
    (technician,) = read_technicians(f"{HEADER}\n{line(**row)}\n", find_yard)
    assert technician.shifts == (Shift(7 * HOUR_S, 15 * HOUR_S + 1800),) * 7


def test_all_bad_rows_are_in_one_report_and_nothing_is_taken_in() -> None:
    """Two good rows do not come through beside two bad ones."""
    found = problems(
        line(**GOOD),
        line(**{**GOOD, "id": "T2", "mon": "late", "payload_kg": "much"}),
        line(**GOOD),
    )
    assert [sentence.split(":")[0] for sentence in found] == [
        "Line 3, column mon",
        "Line 3, column payload_kg",
        "Line 4, column id",
    ]


@pytest.mark.parametrize(
    ("cells", "column", "what"),
    [
        ({"slack_percent": "60"}, "slack_percent", "60' % of a shift is not believable"),
        ({"persons": "2;1"}, "persons", "gives 2 numbers"),
        ({"overtime_day_most_min": "600"}, "overtime_week_most_min", "fill both"),
        (
            {"overtime_day_most_min": "600", "overtime_week_most_min": "60"},
            "overtime_week_most_min",
            "do not fit together",
        ),
        ({"supply_lat": "33.4", "supply_lon": "-111.9"}, "supply_min", "needs its minutes"),
        ({"supply_min": "20"}, "supply_address", "neither an address nor supply_lat"),
        (
            {"supply_min": "500", "supply_address": "1 Yard Lane"},
            "supply_min",
            "not believable",
        ),
        ({"chemicals_most_kg": "9999"}, "chemicals_most_kg", "chemicals aboard"),
        ({"persons": "9"}, "persons", "9 persons is not believable"),
    ],
)
def test_a_slip_in_the_rules_is_named(cells: dict[str, str], column: str, what: str) -> None:
    """Each with its column where there is one, and with the value."""
    (found,) = problems(line(**GOOD, **cells))
    assert found.startswith(f"Line 2, column {column}")
    assert what in found
